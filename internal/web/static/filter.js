// Chips over the wall: one pressed chip dims the tiles that do not answer to it; nothing moves.
//
// <a class="chip" data-filter="late" href="?only=late">; "" is all. Tiles: [data-is="late eggs zebra"].
// [data-filter-count] is told how many tiles answer. Without this file the links load the page anew.
(() => {
  "use strict";
  const chips = [...document.querySelectorAll("[data-filter]")];
  if (chips.length === 0) return;
  const tiles = [...document.querySelectorAll("[data-is]")];
  const teller = document.querySelector("[data-filter-count]");
  const press = (word) => {
    let lit = 0;
    for (const t of tiles) {
      const on = word === "" || t.dataset.is.split(" ").includes(word);
      t.classList.toggle("dim", !on);
      if (on) lit++;
    }
    for (const c of chips) c.setAttribute("aria-pressed", String(c.dataset.filter === word));
    if (teller) teller.textContent = lit + " of " + tiles.length + " cages";
  };
  const pressed = () => chips.find((c) => c.getAttribute("aria-pressed") === "true")?.dataset.filter ?? "";
  const start = chips.find((c) => c.hasAttribute("aria-current"))?.dataset.filter ?? "";
  for (const c of chips) {
    c.setAttribute("role", "button");
    c.removeAttribute("aria-current");
    const go = (e) => {
      if (e.metaKey || e.ctrlKey || e.shiftKey) return;
      e.preventDefault();
      const word = c.dataset.filter === pressed() ? "" : c.dataset.filter;
      press(word);
      const url = new URL(location.href);
      word === "" ? url.searchParams.delete("only") : url.searchParams.set("only", word);
      history.replaceState(null, "", url);
    };
    c.addEventListener("click", go);
    c.addEventListener("keydown", (e) => { if (e.key === " ") go(e); });
  }
  press(start);
})();
