// A second press for what is not to be done by a slip: the first press changes the words of the
// button, the second does it; leaving the button, or Escape, takes it back.
//
// <button data-confirm="Yes, strike it out">Strike out</button> in any form, or on a link.
(() => {
  "use strict";
  const back = (b) => {
    if (b.dataset.plainWords === undefined) return;
    b.textContent = b.dataset.plainWords;
    delete b.dataset.plainWords;
    b.classList.remove("sure");
  };
  document.addEventListener("click", (e) => {
    const b = e.target.closest("[data-confirm]");
    if (!b || b.dataset.plainWords !== undefined) return;
    e.preventDefault();
    e.stopImmediatePropagation();
    b.dataset.plainWords = b.textContent;
    b.textContent = b.dataset.confirm;
    b.classList.add("sure");
    b.setAttribute("aria-live", "polite");
    b.focus();
  }, true);
  document.addEventListener("focusout", (e) => { if (e.target.matches?.("[data-confirm]")) back(e.target); });
  document.addEventListener("keydown", (e) => { if (e.key === "Escape" && e.target.matches?.("[data-confirm]")) back(e.target); });
})();
