// Count cells: a tap on the upper part adds one, on the lower part takes one away. A cell that differs
// from what was last seen gets an ink edge, and the main button says what will be saved.
//
// <div class="count" data-count data-was="5" data-one="egg" data-many="eggs"><input type="number">…
// In the same form: [data-same] is the answer "Looked, same", [data-save] the answer "Save changes".
// What is put into the page later is told with the event "cards", whose detail is the new element.
// Without this file the fields are number fields and all answers stand beside one another.
(() => {
  "use strict";
  const button = (className, label) => {
    const b = document.createElement("button");
    b.type = "button";
    b.className = className;
    b.setAttribute("aria-label", label);
    return b;
  };
  const changed = (cell) => {
    const value = cell.querySelector("input").value.trim();
    return value !== "" && value !== cell.dataset.was;
  };
  const words = (cell) => {
    const n = Number(cell.querySelector("input").value);
    return n + " " + (n === 1 ? cell.dataset.one : cell.dataset.many);
  };

  const retell = (form) => {
    const cells = [...form.querySelectorAll("[data-count]")];
    const differ = cells.filter(changed);
    for (const c of cells) c.classList.toggle("ch", changed(c));
    const eggs = [...form.querySelectorAll("[data-egg] select")].filter((s) => s.value !== s.dataset.was);
    const rings = [...form.querySelectorAll('.ringlist input[type="checkbox"]:checked')].length;
    const said = differ.map(words);
    if (eggs.length > 0) said.push(...eggWords(form));
    if (rings > 0) said.push(rings + (rings === 1 ? " ring" : " rings"));
    const any = said.length > 0;
    const save = form.querySelector("[data-save]");
    const same = form.querySelector("[data-same]");
    if (!save) return;
    const text = save.querySelector("span") || save;
    if (text.dataset.plain === undefined) text.dataset.plain = text.textContent.trim();
    text.textContent = any ? "Save " + said.join(", ") : text.dataset.plain;
    save.classList.toggle("go", any || !same);
    save.classList.toggle("quiet", !any && !!same);
    if (same) {
      same.classList.toggle("go", !any);
      same.classList.toggle("quiet", any);
      // nothing is the same once something was changed
      same.disabled = any;
    }
  };
  // eggWords counts the candling row as it stands: "3 full, 1 clear"
  const eggWords = (form) => {
    const tally = new Map();
    for (const s of form.querySelectorAll("[data-egg] select")) {
      if (s.value === "") continue;
      const w = s.selectedOptions[0].textContent;
      tally.set(w, (tally.get(w) || 0) + 1);
    }
    return [...tally].map(([w, n]) => n + " " + w);
  };

  const wire = (root) => {
    for (const s of root.querySelectorAll("[data-egg] select")) {
      const chosen = [...s.options].find((o) => o.defaultSelected);
      s.dataset.was = chosen ? chosen.value : "";
    }
    for (const cell of root.querySelectorAll("[data-count]")) {
      const input = cell.querySelector("input");
      const plus = button("plus", "One more " + cell.dataset.one);
      const minus = button("minus", "One " + cell.dataset.one + " fewer");
      minus.textContent = "−";
      plus.tabIndex = -1; // the field itself takes arrow keys
      minus.tabIndex = -1;
      const step = (by) => {
        const top = Number(input.max || 99);
        const from = input.value === "" ? 0 : Number(input.value);
        input.value = Math.min(top, Math.max(0, from + by));
        input.dispatchEvent(new Event("input", { bubbles: true }));
      };
      plus.addEventListener("click", () => step(1));
      minus.addEventListener("click", () => step(-1));
      cell.append(plus, minus);
      cell.classList.add("tap");
    }
    for (const form of root.querySelectorAll("form:has([data-save])")) retell(form);
  };
  document.addEventListener("input", (e) => { if (e.target.form) retell(e.target.form); });
  document.addEventListener("change", (e) => { if (e.target.form) retell(e.target.form); });
  document.addEventListener("cards", (e) => wire(e.detail));
  wire(document);
})();
