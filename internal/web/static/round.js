// A chick more takes one egg, a young bird more out of the box takes one chick, a chick found dead takes a live one or else an
// egg: as it is tapped, so that one tap is enough. Taking it back gives it back. What is tapped in the other count itself stands.
//
// In a form of class "lookform": fields named eggs, chicks, dead_chicks, out. Without this file the server does the same
// when the form comes in; the field "evened" tells it that it has been done.
// Also: [data-print] prints the page.
(() => {
  "use strict";
  const from = { chicks: ["eggs"], dead_chicks: ["chicks", "eggs"], out: ["chicks"] };
  const wire = (form) => {
    const fields = {};
    for (const input of form.querySelectorAll("[data-count] input")) fields[input.name] = input;
    if (!fields.chicks && !fields.dead_chicks && !fields.out) return;
    const mark = document.createElement("input");
    mark.type = "hidden";
    mark.name = "evened";
    mark.value = "yes";
    form.append(mark);
    const last = {};
    const took = {}; // "chicks>eggs": how many
    for (const [name, input] of Object.entries(fields)) last[name] = Number(input.value || 0);
    let busy = false;
    const set = (name, value) => {
      busy = true;
      fields[name].value = value;
      last[name] = value;
      fields[name].dispatchEvent(new Event("input", { bubbles: true }));
      busy = false;
    };
    form.addEventListener("input", (e) => {
      const name = e.target.name;
      if (busy || !fields[name] || e.target.value === "") return;
      let by = Number(e.target.value) - last[name];
      last[name] = Number(e.target.value);
      for (const to of from[name] || []) {
        if (!fields[to] || by === 0) continue;
        const key = name + ">" + to;
        const n = by > 0 ? Math.min(by, last[to]) : Math.max(by, -(took[key] || 0));
        if (n === 0) continue;
        took[key] = (took[key] || 0) + n;
        by -= n;
        set(to, last[to] - n);
      }
    });
  };
  const wireAll = (root) => root.querySelectorAll("form.lookform").forEach(wire);
  document.addEventListener("cards", (e) => wireAll(e.detail)); // what is put into the page later
  wireAll(document);
  for (const b of document.querySelectorAll("[data-print]")) {
    b.hidden = false;
    b.addEventListener("click", () => window.print());
  }
})();
