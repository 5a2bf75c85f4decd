// A table of cells that are links: arrow keys walk from cell to cell, Home and End to the ends of a row. A suggested cell can be
// dragged to another cell of its row or column, which opens what that would cost.
//
// <table class="matrix" data-matrix>…<td><a class="mc [pick]" href="…">. Without this file each cell is a link like any other.
(() => {
  "use strict";
  for (const table of document.querySelectorAll("[data-matrix]")) {
    const rows = [...table.tBodies[0].rows].map((r) => [...r.querySelectorAll("a.mc")]);
    const place = new Map();
    rows.forEach((cells, i) => cells.forEach((cell, j) => place.set(cell, [i, j])));
    let home = table.querySelector("a.mc.pick") || (rows[0] && rows[0][0]);
    for (const cell of place.keys()) cell.tabIndex = cell === home ? 0 : -1;
    const go = (cell) => {
      if (!cell) return;
      home.tabIndex = -1;
      home = cell;
      cell.tabIndex = 0;
      cell.focus();
    };
    table.addEventListener("keydown", (e) => {
      const at = place.get(e.target.closest("a.mc"));
      if (!at || e.altKey || e.ctrlKey || e.metaKey) return;
      const [i, j] = at;
      const to = {
        ArrowLeft: () => rows[i][j - 1], ArrowRight: () => rows[i][j + 1],
        ArrowUp: () => rows[i - 1] && rows[i - 1][j], ArrowDown: () => rows[i + 1] && rows[i + 1][j],
        Home: () => rows[i][0], End: () => rows[i][rows[i].length - 1],
      }[e.key];
      if (!to) return;
      e.preventDefault();
      go(to());
    });
    table.addEventListener("focusin", (e) => {
      const cell = e.target.closest("a.mc");
      if (cell && cell !== home) { home.tabIndex = -1; home = cell; cell.tabIndex = 0; }
    });
    // Dragging: only a suggested pair can be taken, and only to another mate for one of the two.
    let from = null;
    const fits = (cell) => {
      if (!from || !cell || cell === from || cell.classList.contains("no")) return false;
      const [a, b] = [place.get(from), place.get(cell)];
      return !!b && (a[0] === b[0] || a[1] === b[1]);
    };
    table.addEventListener("dragstart", (e) => {
      const cell = e.target.closest("a.mc");
      if (!cell || !cell.classList.contains("pick")) { e.preventDefault(); return; }
      from = cell;
      e.dataTransfer.effectAllowed = "move";
      e.dataTransfer.setData("text/plain", cell.getAttribute("aria-label"));
    });
    table.addEventListener("dragover", (e) => { if (fits(e.target.closest("a.mc"))) e.preventDefault(); });
    table.addEventListener("drop", (e) => {
      const cell = e.target.closest("a.mc");
      if (!fits(cell)) return;
      e.preventDefault();
      location.assign(cell.href);
    });
    table.addEventListener("dragend", () => { from = null; });
  }
})();
