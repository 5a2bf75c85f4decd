// The theme button, and the lamps that move it.
//
// A button inside <form method="post" action="/theme…"><button name="theme" value="off|light"> posts as
// it always does; here it changes the page at once and posts behind it. What was chosen by hand is
// remembered under "theme" and holds until the lamps next go on or off. Without a choice by hand the
// page follows the timer of the element with data-lamps-on, data-lamps-off and data-now, in minutes
// after midnight in the room; that element and the clock in it are kept at the time.
(() => {
  "use strict";
  const root = document.documentElement;
  const day = 1440;
  const wrap = (m) => ((m % day) + day) % day;
  const timer = document.querySelector("[data-now]");
  const loaded = Date.now();
  const now = () => wrap(Number(timer.dataset.now) + Math.floor((Date.now() - loaded) / 60000));
  const hasLamps = timer !== null && timer.dataset.lampsOn !== undefined && timer.dataset.lampsOff !== undefined;
  const lampsOn = hasLamps ? Number(timer.dataset.lampsOn) : 0;
  const lampsOff = hasLamps ? Number(timer.dataset.lampsOff) : 0;
  const dark = () => wrap(now() - lampsOn) >= wrap(lampsOff - lampsOn);
  // minutes until the lamps next change
  const untilChange = () => Math.min(...[wrap(lampsOn - now()), wrap(lampsOff - now())].filter((m) => m > 0));

  const store = {
    read() { try { return JSON.parse(localStorage.getItem("theme") || "null"); } catch { return null; } },
    write(v) { try { v ? localStorage.setItem("theme", JSON.stringify(v)) : localStorage.removeItem("theme"); } catch { /* private mode keeps nothing */ } },
  };
  const forms = () => [...document.querySelectorAll('form[action^="/theme"]')];
  const send = (value) => {
    const form = forms()[0];
    if (!form) return;
    const body = new URLSearchParams(new FormData(form));
    body.set("theme", value);
    fetch(form.action, { method: "POST", body, redirect: "manual", credentials: "same-origin" }).catch(() => { /* no signal: this phone remembers */ });
  };
  const shown = () => root.dataset.theme || (matchMedia("(prefers-color-scheme: dark)").matches ? "off" : "light");
  const name = () => {
    for (const b of document.querySelectorAll("[data-theme-button]")) {
      b.hidden = false;
      b.value = shown() === "off" ? "light" : "off";
      b.textContent = shown() === "off" ? "Day view" : "Lamps-off view";
    }
  };
  const show = (theme) => { root.dataset.theme = theme; name(); };

  // the server printed a theme that the lamps do not ask for: it was chosen by hand, without this file
  const printed = root.dataset.theme;
  const byServer = printed === "light" || (printed === "off" && !(hasLamps && dark()));
  const follow = () => {
    const hand = store.read();
    if (hand && (hand.until === undefined || Date.now() < hand.until)) { show(hand.theme); return; }
    if (hand) { store.write(null); send("auto"); }
    if (byServer && !hand) show(printed);
    else if (hasLamps && dark()) show("off");
    else { delete root.dataset.theme; name(); }
  };
  const tick = () => {
    const strip = timer.querySelector(".strip [data-nowbar]");
    if (strip) strip.setAttribute("x", (now() / day) * 100 + "%");
    const clock = timer.querySelector(".clock");
    if (clock) clock.textContent = String(Math.floor(now() / 60)).padStart(2, "0") + ":" + String(now() % 60).padStart(2, "0");
  };

  document.addEventListener("click", (e) => {
    const b = e.target.closest("[data-theme-button]");
    if (!b) return;
    e.preventDefault();
    const theme = shown() === "off" ? "light" : "off";
    const hand = { theme };
    if (hasLamps && Number.isFinite(untilChange())) hand.until = Date.now() + untilChange() * 60000;
    store.write(hand);
    show(theme);
    send(theme);
  });
  follow();
  if (timer) setInterval(() => { tick(); follow(); }, 20000);
  document.addEventListener("visibilitychange", () => { if (!document.hidden && timer) { tick(); follow(); } });
})();
