// Carrying a bird or a pair from one place to another, by hand or by keyboard.
//
// <button type="button" class="carry" data-carry="ID" data-carry-name="24-031" hidden>Carry</button>
// Places: [data-drop="A3" data-drop-name="A3"]. The move is written by the form [data-carry-form], whose
// fields [data-carry-what] and [data-carry-to] get the values; the form is an ordinary one with two lists,
// so that everything can be moved without this file.
// Keyboard: Enter picks up, arrows go to the nearest place that way, Enter puts down, Escape gives up.
(() => {
  "use strict";
  const form = document.querySelector("[data-carry-form]");
  const handles = [...document.querySelectorAll("[data-carry]")];
  if (!form || handles.length === 0) return;
  const teller = document.createElement("p");
  teller.className = "vh";
  teller.setAttribute("role", "status");
  document.body.append(teller);
  const places = () => [...document.querySelectorAll("[data-drop]")].filter((p) => p.offsetParent !== null);
  const nameOf = (p) => p.dataset.dropName || p.dataset.drop;
  let held = null, target = null, ghost = null, start = null;

  const aim = (p) => {
    if (target === p) return;
    target?.classList.remove("target");
    target = p;
    target?.classList.add("target");
    if (p && !ghost) {
      p.scrollIntoView({ block: "nearest", inline: "nearest" });
      teller.textContent = "Over " + nameOf(p);
    }
  };
  const letGo = (words) => {
    if (!held) return;
    held.setAttribute("aria-pressed", "false");
    ghost?.remove();
    aim(null);
    held = ghost = start = null;
    if (words) teller.textContent = words;
  };
  const putDown = () => {
    const from = held.closest("[data-drop]");
    if (!target || target === from) { letGo("Left where it was"); return; }
    form.querySelector("[data-carry-what]").value = held.dataset.carry;
    form.querySelector("[data-carry-to]").value = target.dataset.drop;
    teller.textContent = "Moving " + held.dataset.carryName + " to " + nameOf(target);
    form.requestSubmit();
  };
  const take = (h) => {
    letGo();
    held = h;
    h.setAttribute("aria-pressed", "true");
    teller.textContent = h.dataset.carryName + " in hand. Arrows choose a place, Enter puts down, Escape gives up.";
  };
  const middle = (el) => { const r = el.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; };
  const toward = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

  for (const h of handles) {
    h.hidden = false;
    h.setAttribute("aria-pressed", "false");
    h.addEventListener("keydown", (e) => {
      if (e.key === "Enter" || e.key === " ") {
        e.preventDefault();
        if (e.repeat) return; // a key that is held down does not put down what it has just picked up
        held === h ? putDown() : take(h);
      } else if (held === h && e.key === "Escape") {
        letGo("Put back");
      } else if (held === h && toward[e.key]) {
        e.preventDefault();
        const [dx, dy] = toward[e.key];
        const [x, y] = middle(target || h.closest("[data-drop]") || h);
        let best = null, least = Infinity;
        for (const p of places()) {
          const [px, py] = middle(p);
          const along = (px - x) * dx + (py - y) * dy;
          const aside = Math.abs((px - x) * dy) + Math.abs((py - y) * dx);
          if (along < 4) continue;
          const far = along + 2.5 * aside;
          if (far < least) { least = far; best = p; }
        }
        if (best) aim(best);
      }
    });
    h.addEventListener("blur", () => { if (held === h && !ghost) letGo(); });
    h.addEventListener("pointerdown", (e) => {
      if (e.button !== 0) return;
      start = { id: e.pointerId, x: e.clientX, y: e.clientY };
      h.setPointerCapture(e.pointerId);
    });
    h.addEventListener("pointermove", (e) => {
      if (!start || start.id !== e.pointerId) return;
      if (!ghost) {
        if (Math.hypot(e.clientX - start.x, e.clientY - start.y) < 8) return;
        const from = start;
        take(h);
        start = from;
        ghost = document.createElement("span");
        ghost.className = "ring carryghost";
        ghost.textContent = h.dataset.carryName;
        document.body.append(ghost);
      }
      // moved by script through the object model, which the policy allows
      ghost.style.transform = "translate(" + (e.clientX + 10) + "px," + (e.clientY + 10) + "px)";
      const edge = 60;
      if (e.clientY < edge) scrollBy(0, -12);
      else if (e.clientY > innerHeight - edge) scrollBy(0, 12);
      aim(document.elementFromPoint(e.clientX, e.clientY)?.closest("[data-drop]") ?? null);
    });
    h.addEventListener("pointerup", (e) => {
      if (!start || start.id !== e.pointerId) return;
      start = null;
      if (ghost) putDown();
    });
    h.addEventListener("pointercancel", () => letGo("Put back"));
    h.addEventListener("click", (e) => {
      // a plain press, as a screen reader sends it, picks up; a second puts down
      if (e.detail !== 0 || ghost) return;
      held === h ? putDown() : take(h);
    });
  }
  // with something in hand, a press on a place puts it down there
  document.addEventListener("click", (e) => {
    const p = e.target.closest?.("[data-drop]");
    if (!held || ghost || !p || e.target.closest("[data-carry]")) return;
    e.preventDefault();
    aim(p);
    putDown();
  }, true);
})();
