// Candling: a tap on an egg goes round not yet, full, clear. The rarer answers (early dead, dead in
// shell, cracked) are in the list under the egg, which is all there is without this file.
//
// <div class="egg" data-egg><span class="eggpic">…</span><label>Egg 1</label><select>…</select></div>
(() => {
  "use strict";
  const next = { "": "fertile", fertile: "clear", clear: "" };
  const wire = (root) => {
    for (const cell of root.querySelectorAll("[data-egg]")) {
      const select = cell.querySelector("select");
      const name = cell.querySelector("label").textContent.trim();
      const tap = document.createElement("button");
      tap.type = "button";
      const tell = () => tap.setAttribute("aria-label", name + ": " + select.selectedOptions[0].textContent + ". Tap to change");
      tap.addEventListener("click", () => {
        select.value = next[select.value] ?? "";
        select.dispatchEvent(new Event("change", { bubbles: true }));
      });
      select.addEventListener("change", tell);
      tell();
      cell.prepend(tap);
    }
  };
  document.addEventListener("cards", (e) => wire(e.detail)); // what is put into the page later
  wire(document);
})();
