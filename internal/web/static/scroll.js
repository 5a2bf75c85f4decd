// A wide picture opens at today, not at its far left: an element with data-scroll-to="pixels" scrolls
// until that point stands a third of the way in. Without this file it opens at its start.
(() => {
  "use strict";
  for (const el of document.querySelectorAll("[data-scroll-to]")) {
    el.scrollLeft = Math.max(0, Number(el.dataset.scrollTo) - el.clientWidth / 3);
  }
})();
