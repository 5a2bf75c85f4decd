// Picking many cages: the bar shows how many are picked and stays away until there is one. Shift and a
// click picks all between. The tick boxes belong to the form of the bar by their form attribute, so
// everything is sent without this file too.
//
// <input type="checkbox" data-pick form="bulk">; <form id="bulk" class="bulk" data-bulk>
// <b data-pick-count></b>…; <button type="button" data-pick-all="late"> picks the tiles with that word in
// data-is ("" picks every one); <button type="button" data-pick-none> lets go of all.
(() => {
  "use strict";
  const bar = document.querySelector("[data-bulk]");
  if (!bar) return;
  const boxes = [...document.querySelectorAll("[data-pick]")];
  const count = bar.querySelector("[data-pick-count]");
  let last = null;
  const tell = () => {
    const n = boxes.filter((b) => b.checked).length;
    bar.hidden = n === 0;
    if (count) {
      count.setAttribute("role", "status");
      count.textContent = n === 1 ? "1 cage picked" : n + " cages picked";
    }
  };
  for (const b of boxes) {
    b.addEventListener("click", (e) => {
      if (e.shiftKey && last !== null) {
        const [from, to] = [boxes.indexOf(last), boxes.indexOf(b)].sort((x, y) => x - y);
        for (const other of boxes.slice(from, to + 1)) other.checked = b.checked;
      }
      last = b;
      tell();
    });
  }
  document.addEventListener("click", (e) => {
    const all = e.target.closest("[data-pick-all]");
    const none = e.target.closest("[data-pick-none]");
    if (!all && !none) return;
    for (const b of boxes) {
      const is = b.closest("[data-is]")?.dataset.is.split(" ") ?? [];
      if (none) b.checked = false;
      else if (all.dataset.pickAll === "" || is.includes(all.dataset.pickAll)) b.checked = true;
    }
    tell();
  });
  addEventListener("pageshow", tell); // a page that comes back keeps its ticks
  tell();
})();
