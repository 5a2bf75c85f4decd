// The round without a network. A form of a card or of a cage's page is written into the browser's own database before it is
// sent. When the room's computer is not reached it stays there, the card is shown as done, and it goes up in order once the
// room is reached again. The server takes each once, by its id.
//
// <meta name="standing"> says which room this is, who is here, and what time it is in the room (package web, offline.go).
// <section id="kept"> is the band that tells. Without this file, or where the browser keeps nothing, forms are sent as ever.
(() => {
  "use strict";
  const meta = document.querySelector('meta[name="standing"]');
  if (!meta) return;
  const page = JSON.parse(meta.content);
  // the forms that may wait, as offline.go lists them
  const waits = /^\/(cage\/[^/]+\/(check|answer|material|odd|count|note|signs|ring|wean|move|box|pull)|round\/(seen|done|skip)|sort\/settle|strike)$/;
  const patience = 6000; // ms until an answer is no longer waited for
  const retry = [4000, 8000, 15000, 30000]; // ms between quiet tries
  const old = 24 * 3600 * 1000; // ms after which unsent marks are warned of
  const band = document.getElementById("kept");

  // ---- the browser's database ----

  const opened = new Promise((ok, no) => {
    if (!window.indexedDB) { no(new Error("no database")); return; }
    const r = indexedDB.open("broodlight", 1);
    r.onupgradeneeded = () => {
      r.result.createObjectStore("marks", { keyPath: "seq", autoIncrement: true });
      r.result.createObjectStore("sent", { keyPath: "once" });
      r.result.createObjectStore("facts", { keyPath: "name" });
    };
    r.onsuccess = () => ok(r.result);
    r.onerror = () => no(r.error);
  });
  opened.catch(() => { /* told when something is to be kept */ });
  // work runs fn in one transaction and gives what its request gives; it is done when the browser has written it down
  const work = async (stores, mode, fn) => {
    const db = await opened;
    return new Promise((ok, no) => {
      const t = db.transaction(stores, mode, { durability: "strict" });
      const req = fn(t);
      t.oncomplete = () => ok(req ? req.result : undefined);
      t.onerror = t.onabort = () => no(t.error || new Error("not written"));
    });
  };
  const marks = () => work(["marks"], "readonly", (t) => t.objectStore("marks").getAll());
  const store = (m) => work(["marks"], "readwrite", (t) => t.objectStore("marks").put(m));
  const fact = async (name) => (await work(["facts"], "readonly", (t) => t.objectStore("facts").get(name)))?.value;
  const setFact = (name, value) => work(["facts"], "readwrite", (t) => t.objectStore("facts").put({ name, value }));
  // change alters a mark that is still there; fn returns false to leave it
  const change = (seq, fn) => work(["marks"], "readwrite", (t) => {
    const s = t.objectStore("marks");
    const get = s.get(seq);
    get.onsuccess = () => { const m = get.result; if (m && fn(m) !== false) s.put(m); };
    return get;
  });
  const drop = (seq) => work(["marks"], "readwrite", (t) => { t.objectStore("marks").delete(seq); });

  const others = "BroadcastChannel" in window ? new BroadcastChannel("kept") : null; // this room in other windows

  // ---- time and ids ----

  let skew = 0; // ms by which the room's clock is ahead of this one
  const roomNow = () => Date.now() + skew;
  const civil = (ms, zone) => {
    const parts = {};
    let format;
    const how = { year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
    try { format = new Intl.DateTimeFormat("en-GB", { ...how, timeZone: zone }); } catch { format = new Intl.DateTimeFormat("en-GB", how); }
    for (const p of format.formatToParts(ms)) parts[p.type] = p.value;
    return { day: parts.year + "-" + parts.month + "-" + parts.day, time: parts.hour + ":" + parts.minute };
  };
  const clock = (ms) => civil(ms, page.zone).time;
  const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  const shortDay = (day) => Number(day.slice(8)) + " " + months[Number(day.slice(5, 7)) - 1];
  // a UUID of version 7; crypto.randomUUID is not there on plain http
  const newID = () => {
    const b = crypto.getRandomValues(new Uint8Array(16));
    let ms = roomNow();
    for (let i = 5; i >= 0; i--) { b[i] = ms % 256; ms = Math.floor(ms / 256); }
    b[6] = (b[6] & 15) | 112;
    b[8] = (b[8] & 63) | 128;
    const hex = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  };

  // ---- reaching the room ----

  let reached = navigator.onLine === false ? false : undefined;
  let loggedOut = false;
  let sending = 0;
  let allSent = "";
  let note = ""; // said until something else happens
  let by = page.by; // who the room says is here
  const ask = async (path, options, ms) => {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), ms);
    try {
      const res = await fetch(path, { credentials: "same-origin", cache: "no-store", redirect: "error", ...options, signal: stop.signal });
      return { status: res.status, body: await res.json() }; // what is no JSON comes from somebody else, such as the network's own page
    } finally {
      clearTimeout(timer);
    }
  };
  const reach = async (ms) => {
    try {
      const from = Date.now();
      const { body } = await ask("/kept", {}, ms);
      if (body.room !== page.room) throw new Error("another room");
      const to = Date.now();
      skew = Math.round(body.made - (from + to) / 2);
      page.zone = body.zone;
      if (reached === false) note = "";
      reached = true;
      loggedOut = body.logIn && body.by === "";
      by = body.by;
      setFact("skew", skew).catch(() => { /* measured again next time */ });
    } catch {
      reached = false;
    }
    return reached;
  };

  // ---- sending ----

  const ours = (m) => m.room === page.room;
  const mine = (m) => ours(m) && (m.by === page.by || !page.logIn);
  const post = (m, how) => {
    const body = new URLSearchParams();
    for (const [name, value] of m.fields) body.append(name, value);
    body.set("once", m.once);
    body.set("kept_by", m.by);
    body.set("kept_at", new Date(m.at).toISOString());
    body.set("kept_day", m.day);
    body.set("kept_time", m.time);
    return ask(m.action, { method: "POST", body, headers: { Kept: how } }, patience);
  };
  // settle writes down what became of a mark that the room has answered about, and says whether the next may be sent
  const settle = async (m, a) => {
    switch (a.state) {
      case "saved":
      case "clash":
        await work(["marks", "sent"], "readwrite", (t) => {
          t.objectStore("marks").delete(m.seq);
          t.objectStore("sent").put({ once: m.once, room: m.room, card: m.card, plate: m.plate, words: m.words, at: a.now, time: m.time });
        });
        if (a.state === "clash") await setFact("clashes", ((await fact("clashes")) || 0) + 1);
        return true;
      case "wrong":
      case "ask":
        await change(m.seq, (x) => { x.state = "wrong"; x.said = a.said || "It cannot be taken as it is."; });
        return true;
      case "log in":
        loggedOut = true;
        break;
      case "other":
        by = a.by;
        break;
    }
    await change(m.seq, (x) => { x.state = "waiting"; x.tried = true; });
    return false;
  };

  let busy = null;
  const flush = () => {
    busy ||= sendAll().catch(() => { reached = false; }).finally(() => { busy = null; tell(); plan(); });
    return busy;
  };
  const sendAll = async () => {
    let did = 0;
    for (;;) {
      const list = (await marks()).filter((m) => mine(m) && m.state !== "wrong");
      if (list.length === 0) break;
      const m = list[0];
      sending = list.length;
      tell();
      let there = false;
      await change(m.seq, (x) => { there = true; x.state = "sending"; });
      if (!there) continue; // taken back meanwhile
      let a;
      try {
        a = (await post(m, "later")).body;
        if (a.room !== page.room) throw new Error("another room");
        reached = true;
      } catch {
        reached = false;
        await change(m.seq, (x) => { x.state = "waiting"; x.tried = true; });
        break;
      }
      const on = await settle(m, a);
      if (!on) break;
      if (a.state === "saved" || a.state === "clash") did++;
      paintSent(m, a);
    }
    sending = 0;
    if (did > 0 && (await marks()).filter((m) => mine(m) && m.state !== "wrong").length === 0) allSent = clock(roomNow());
    if (did > 0) others?.postMessage("changed");
  };

  let timer = 0;
  let tries = 0;
  const plan = async () => {
    clearTimeout(timer);
    let waiting = false;
    try { waiting = (await marks()).some((m) => mine(m) && m.state !== "wrong"); } catch { /* nothing is kept here */ }
    if (reached !== false && (!waiting || loggedOut)) { tries = 0; return; }
    timer = setTimeout(again, retry[Math.min(tries++, retry.length - 1)]);
  };
  const again = async () => {
    if (busy) return;
    await reach(patience);
    tell();
    if (reached && !loggedOut && (by === page.by || !page.logIn)) await flush();
    else plan();
  };

  // ---- catching forms ----

  // sendBy lets the browser send what a form said
  const sendBy = (action, fields) => {
    const f = document.createElement("form");
    f.method = "post";
    f.action = action;
    f.hidden = true;
    for (const [name, value] of fields) {
      const i = document.createElement("input");
      i.type = "hidden";
      i.name = name;
      i.value = value;
      f.append(i);
    }
    document.body.append(f);
    HTMLFormElement.prototype.submit.call(f);
  };
  const go = (to) => {
    leaving = true;
    const url = new URL(to || location.href, location.href);
    if (url.pathname === location.pathname && url.search === location.search) {
      history.scrollRestoration = "manual"; // so that it goes to the card that is next
      if (url.hash && url.hash !== location.hash) history.replaceState(null, "", url);
      location.reload();
    } else {
      location.assign(url);
    }
  };
  let leaving = false;

  const wordsOf = (form, button, fields) => {
    const said = ((button?.querySelector("span") || button)?.textContent || "mark").trim().replace(/^Save /, "");
    const text = fields.find(([n, v]) => (n === "text" || n === "how" || n === "reason") && v !== "" && n !== button?.name);
    const undone = form.closest(".undo, li")?.querySelector(":scope > span");
    const what = form.getAttribute("action") === "/strike" && undone ? said + ": " + undone.textContent.trim() : said;
    return (what + (text ? ": " + text[1] : "")).slice(0, 200);
  };
  const finishes = (path, fields) => fields.some(([n]) => n === "card") || ["/round/done", "/round/skip", "/sort/settle"].includes(path);

  document.addEventListener("submit", (e) => {
    const form = e.target;
    const button = e.submitter;
    const url = new URL(button?.getAttribute("formaction") || form.getAttribute("action") || "", location.href);
    if (form.getAttribute("method")?.toLowerCase() !== "post" || url.origin !== location.origin) return;
    if (url.pathname === "/logout") { logOut(e, form); return; }
    if (e.defaultPrevented) return;
    if (!waits.test(url.pathname)) {
      if (reached === false && form.getAttribute("action") !== "/theme") hold(e, () => HTMLFormElement.prototype.requestSubmit.call(form, button));
      return;
    }
    e.preventDefault();
    if (form.dataset.busy) return; // a double tap
    form.dataset.busy = "yes";
    const fields = [...new FormData(form)].filter(([, v]) => typeof v === "string");
    if (button?.name) fields.push([button.name, button.value]);
    take(form, button, url.pathname, fields).finally(() => { delete form.dataset.busy; });
  });

  const take = async (form, button, action, fields) => {
    const li = form.closest("li.job");
    const at = Math.round(roomNow());
    const m = {
      room: page.room, once: newID(), action, fields: fields.filter(([n]) => n !== "once"), by: page.by, at, ...civil(at, page.zone),
      words: wordsOf(form, button, fields), plate: (li || document).querySelector(".plate")?.textContent.trim() || "",
      card: li && finishes(action, fields) ? li.id : "", state: "waiting", tried: false,
    };
    note = "";
    allSent = "";
    const mending = Number(sessionStorage.getItem("mending") || 0);
    let before = [];
    try {
      before = (await marks()).filter((x) => mine(x) && x.state !== "wrong");
      const first = before.length === 0 && reached !== false && !loggedOut;
      if (first) m.state = "sending";
      m.seq = await work(["marks"], "readwrite", (t) => {
        const s = t.objectStore("marks");
        if (mending) s.delete(mending);
        return s.add(m);
      });
      sessionStorage.removeItem("mending");
    } catch {
      if (reached === false) {
        note = "This phone keeps nothing (its browser does not let it), so write it on paper until there is a signal again.";
        tell();
      } else {
        sendBy(action, fields);
      }
      return;
    }
    if (m.state !== "sending") {
      kept(form, li, m);
      if (reached !== false) again();
      return;
    }
    const slow = setTimeout(() => { sending = 1; tell(); }, 400);
    let a;
    try {
      a = (await post(m, "now")).body;
      if (a.room !== page.room || a.state === "later") throw new Error("not now");
      reached = true;
    } catch {
      reached = false;
    }
    clearTimeout(slow);
    sending = 0;
    if (!reached) {
      await change(m.seq, (x) => { x.state = "waiting"; x.tried = true; });
      kept(form, li, m);
      return;
    }
    switch (a.state) {
      case "saved":
        await settle(m, a);
        go(a.to);
        return;
      case "ask":
        await drop(m.seq);
        leaving = true;
        sendBy(action, [...m.fields, ["once", m.once]]);
        return;
      case "wrong":
        // the browser sends it, so that it comes back filled in with the messages beside the fields; until that page is there it is kept
        await change(m.seq, (x) => { x.state = "waiting"; x.shown = true; });
        leaving = true;
        sendBy(action, [...m.fields, ["once", m.once]]);
        return;
      default:
        await settle(m, a);
        kept(form, li, m);
    }
  };

  // kept shows that a mark has been taken and waits
  const kept = (form, li, m) => {
    const action = m.action;
    if (m.card && li) {
      paintCard(li, m, m.time, true);
      openNext(li);
    } else {
      const box = form.closest("details.put, .undo, li") || form;
      const said = document.createElement(box.matches("li") ? "li" : "p");
      said.className = "keptnote";
      said.dataset.kept = m.once;
      const words = document.createElement("span");
      words.textContent = m.words + " ";
      const sub = document.createElement("span");
      sub.className = "sub small";
      sub.textContent = "kept on this phone " + m.time;
      words.append(sub);
      said.append(words, button("Take back", m, () => takeBack(m.seq)));
      if (action !== "/strike") {
        const more = button("Another", m, () => { box.hidden = false; more.remove(); });
        said.append(more);
      }
      box.hidden = true;
      box.after(said);
    }
    others?.postMessage("changed");
    tell();
    plan();
  };

  // button is a small one about a mark
  const button = (words, m, fn) => {
    const b = document.createElement("button");
    b.type = "button";
    b.className = "plain";
    b.textContent = words;
    b.setAttribute("aria-label", words + ": " + (m.plate ? m.plate + " " : "") + m.words);
    b.addEventListener("click", fn);
    return b;
  };

  // ---- cards ----

  const paintCard = (li, m, time, open) => {
    if (li.querySelector(":scope > .keptrow")) return;
    const row = document.createElement("div");
    row.className = "keptrow";
    row.dataset.kept = m.once;
    const plate = li.querySelector(".plate").cloneNode(true);
    const text = document.createElement("span");
    text.append(m.words + " ");
    const sub = document.createElement("span");
    sub.className = "sub small";
    sub.textContent = m.state === "wrong" ? "wants mending: " + m.said : (open ? "kept on this phone " : "sent ") + time;
    text.append(sub);
    row.append(plate, text);
    if (open) row.append(button("Take back", m, () => takeBack(m.seq)));
    const d = li.querySelector(":scope > details");
    if (d) { d.open = false; d.hidden = true; }
    const top = li.querySelector(":scope > .jtop");
    if (top) top.hidden = true;
    li.classList.remove("now");
    li.classList.add("kept");
    li.append(row);
    headline();
  };
  const unpaint = (once) => {
    for (const x of document.querySelectorAll(`[data-kept="${once}"]`)) {
      const li = x.closest("li.job.kept");
      if (!li && x.previousElementSibling) x.previousElementSibling.hidden = false;
      x.remove();
      if (!li) continue;
      li.classList.remove("kept");
      for (const part of li.querySelectorAll(":scope > details, :scope > .jtop")) part.hidden = false;
      hand(li);
    }
    headline();
  };
  const paintSent = (m, a) => {
    for (const x of document.querySelectorAll(`[data-kept="${m.once}"]`)) {
      const sub = x.querySelector(".sub");
      const words = a.state === "saved" ? "sent " + clock(a.now) : a.state === "clash" ? "sent, and clashes: " + a.said : "wants mending: " + a.said;
      if (sub) sub.textContent = words; else x.textContent = m.words + ": " + words;
      if (a.state === "saved" || a.state === "clash") x.querySelector("button")?.remove();
    }
  };
  // hand takes a card into the hand
  const hand = (li) => {
    for (const x of document.querySelectorAll(".jobs > .job.now")) {
      x.classList.remove("now");
      const d = x.querySelector(":scope > details");
      if (d && x !== li) d.open = false;
    }
    li.classList.add("now");
    const d = li.querySelector(":scope > details");
    if (d) d.open = true;
    document.getElementById("next")?.remove();
    const here = document.createElement("span");
    here.className = "here";
    here.id = "next";
    li.prepend(here);
  };
  const openNext = (li) => {
    const all = [...li.parentElement.querySelectorAll(":scope > li.job")];
    const i = all.indexOf(li);
    const rest = [...all.slice(i + 1), ...all.slice(0, i)].filter((x) => !x.classList.contains("kept") && x.querySelector(":scope > details"));
    if (rest.length === 0) return;
    hand(rest[0]);
    rest[0].scrollIntoView({ block: "start" });
    rest[0].querySelector("summary").focus({ preventScroll: true });
  };
  const headline = () => {
    const list = document.querySelector(".jobs[data-all]");
    const h1 = document.querySelector("h1");
    if (!list || !h1) return;
    const left = Number(list.dataset.left) - list.querySelectorAll(":scope > .kept").length;
    const all = Number(list.dataset.all);
    if (all === 0) return;
    h1.textContent = list.dataset.part + " round: " + (left === 0 ? "all " + all + " done" : (all - left) + "\u00a0of\u00a0" + all + "\u00a0done, " + left + "\u00a0left");
  };
  // paintAll shows on the page what this phone knows and the page does not
  const paintAll = async () => {
    const list = await marks();
    const mending = Number(sessionStorage.getItem("mending") || 0);
    for (const m of list) {
      const li = m.card && mine(m) && document.getElementById(m.card);
      if (li && !(page.wrong && m.seq === mending)) paintCard(li, m, m.time, true);
    }
    const sent = await work(["sent"], "readonly", (t) => t.objectStore("sent").getAll());
    for (const x of sent) {
      const li = x.room === page.room && x.card && x.at > page.made && document.getElementById(x.card);
      if (li) paintCard(li, x, x.time, false);
    }
    const bygone = sent.filter((x) => x.at < roomNow() - 3 * old).map((x) => x.once);
    if (bygone.length > 0) await work(["sent"], "readwrite", (t) => { for (const once of bygone) t.objectStore("sent").delete(once); });
    const jobs = document.querySelector(".jobs[data-all]");
    if (jobs && !jobs.querySelector(".now")) {
      const next = jobs.querySelector(":scope > li.job:not(.kept) > details")?.parentElement;
      if (next) hand(next);
    }
  };

  const takeBack = async (seq) => {
    let gone = null;
    await work(["marks"], "readwrite", (t) => {
      const s = t.objectStore("marks");
      const get = s.get(seq);
      get.onsuccess = () => {
        const m = get.result;
        if (!m || (m.state === "sending" && busy)) return;
        gone = m;
        if (!m.tried) { s.delete(seq); return; }
        // nobody knows whether it came in: in its place goes a mark that makes sure it does not stand
        const at = Math.round(roomNow());
        s.put({ ...m, once: newID(), action: "/strike", fields: [["id", m.once], ["if_there", "yes"]], at, ...civil(at, page.zone), card: "", words: "Taken back: " + m.words, state: "waiting" });
      };
      return get;
    });
    if (gone) unpaint(gone.once);
    others?.postMessage("changed");
    await tell();
    if (reached) again();
  };
  const mend = (m) => {
    sessionStorage.setItem("mending", m.seq);
    leaving = true;
    const has = (n) => m.fields.some(([name, v]) => name === n && v !== "");
    const fields = m.fields.filter(([n, v]) => !((n === "day" || n === "time") && v === ""));
    if (!has("day")) fields.push(["day", m.day], ["time", m.time]);
    sendBy(m.action, fields);
  };

  // ---- the band ----

  const count = (n, one, many) => n + " " + (n === 1 ? one : many);
  const tell = async () => {
    if (!band) return;
    let list = [];
    try { list = await marks(); } catch { if (note === "" && reached !== false) return; }
    const own = list.filter(mine);
    const wrong = own.filter((m) => m.state === "wrong");
    const waiting = own.filter((m) => m.state !== "wrong" && !(m.state === "sending" && sending === 0 && !busy));
    const strange = list.filter((m) => ours(m) && !mine(m));
    const clashes = (await fact("clashes").catch(() => 0)) || 0;
    const n = waiting.length;
    let text = "";
    let link = null;
    let loud = false;
    if (note !== "") { text = note; loud = true; }
    else if (sending > 0) text = "Sending " + sending;
    else if (n > 0 && loggedOut) {
      text = count(n, "mark", "marks") + " kept on this phone.";
      link = ["/login?to=" + encodeURIComponent(location.pathname + location.search), "Log in, and " + (n === 1 ? "it is" : "they are") + " sent"];
    } else if (n > 0 && by !== page.by && page.logIn && reached) {
      text = count(n, "mark", "marks") + " kept for " + page.by + ", who is no longer logged in here.";
      link = ["/more", "Who is logged in?"];
    } else if (reached === false) {
      text = "No signal in here. " + (n > 0 ? count(n, "mark", "marks") + " kept on this phone" : "What you tap is kept on this phone");
      if (!navigator.serviceWorker?.controller) text += ". Keep this page open";
    } else if (wrong.length > 0) {
      text = count(wrong.length, "mark wants", "marks want") + " mending before " + (wrong.length === 1 ? "it" : "they") + " can be taken";
      loud = true;
    } else if (n > 0) text = count(n, "mark", "marks") + " kept on this phone, to be sent in a moment";
    else if (clashes > 0) {
      text = (allSent ? "All sent " + allSent + ". " : "");
      link = ["/sort", count(clashes, "mark clashes", "marks clash") + ", look"];
      loud = true;
    } else if (allSent !== "") text = "All sent " + allSent;
    else if (strange.length > 0) text = count(strange.length, "mark", "marks") + " of " + [...new Set(strange.map((m) => m.by))].join(", ") + (strange.length === 1 ? " waits" : " wait") + " on this phone until " + (strange.length === 1 ? "its writer logs" : "their writer logs") + " in here";
    const oldest = own.filter((m) => m.at < roomNow() - old).sort((a, b) => a.at - b.at)[0];
    if (oldest && sending === 0) {
      text += (/[.!?]$/.test(text) ? " " : ". ") + "The oldest is of " + shortDay(oldest.day) + ": bring this phone into the room's network, or save the marks to a file";
      loud = true;
    }
    band.hidden = text === "" && !link;
    const line = band.querySelector(".queue");
    line.classList.toggle("clash", loud);
    const span = line.querySelector("span");
    const said = text + (link ? link[1] : "");
    if (span.dataset.said !== said) {
      span.dataset.said = said;
      span.textContent = text + (link && text ? " " : "");
      if (link) {
        const a = document.createElement("a");
        a.href = link[0];
        a.textContent = link[1];
        span.append(a);
      }
    }
    const more = band.querySelector("details");
    more.hidden = own.length === 0;
    more.querySelector("[data-kept-try]").hidden = sending > 0;
    const rows = more.querySelector("ol");
    rows.replaceChildren(...own.map(row));
  };
  const row = (m) => {
    const li = document.createElement("li");
    const plate = document.createElement("span");
    plate.className = "plate";
    plate.textContent = m.plate || "Room";
    const text = document.createElement("span");
    text.append(m.words + " ");
    const when = document.createElement("span");
    when.className = "sub small";
    when.textContent = (m.day === civil(roomNow(), page.zone).day ? "" : shortDay(m.day) + ", ") + m.time;
    text.append(when);
    if (m.state === "wrong") {
      const p = document.createElement("p");
      p.className = "err";
      p.textContent = m.said;
      text.append(p);
    }
    const acts = document.createElement("span");
    acts.className = "row";
    if (m.state === "wrong" && reached !== false) acts.append(button("Mend", m, () => mend(m)));
    if (!(m.state === "sending" && busy)) acts.append(button("Take back", m, () => takeBack(m.seq)));
    li.append(plate, text, acts);
    return li;
  };
  band?.querySelector("[data-kept-try]").addEventListener("click", () => { note = ""; again(); });
  band?.querySelector("[data-kept-file]").addEventListener("click", async () => {
    const list = (await marks()).filter(ours);
    const file = { what: "broodlight marks", version: 1, room: page.room, marks: list.map(({ once, action, fields, by, at, day, time, words, plate }) => ({ once, action, fields, by, at: new Date(at).toISOString(), day, time, words, plate })) };
    const a = document.createElement("a");
    a.href = URL.createObjectURL(new Blob([JSON.stringify(file, null, 1)], { type: "application/json" }));
    a.download = "round-" + civil(roomNow(), page.zone).day + ".json";
    a.click();
    setTimeout(() => URL.revokeObjectURL(a.href), 60000);
  });

  // ---- leaving the page while there is no network ----

  // hold looks whether the room is reached after all before a page is left for one that may not come
  const hold = (e, on) => {
    if (navigator.serviceWorker?.controller) return;
    e.preventDefault();
    reach(2500).then((ok) => {
      if (ok) { leaving = true; on(); return; }
      note = "No signal in here, and that page comes from the room's computer. This one goes on working: keep it open.";
      tell();
      plan();
    });
  };
  document.addEventListener("click", (e) => {
    const a = e.target.closest?.("a[href]");
    if (!a || e.defaultPrevented || e.button !== 0 || e.ctrlKey || e.metaKey || a.download || reached !== false) return;
    const url = new URL(a.href, location.href);
    if (url.origin !== location.origin || (url.hash && url.pathname === location.pathname && url.search === location.search)) return;
    const card = url.pathname === "/round" && url.searchParams.get("open");
    const li = card ? document.getElementById(card) : null;
    if (li?.querySelector(":scope > details")) { e.preventDefault(); hand(li); return; }
    hold(e, () => location.assign(url));
  });
  window.addEventListener("beforeunload", (e) => {
    if (reached === false && !leaving && !navigator.serviceWorker?.controller && document.querySelector(".jobs")) e.preventDefault();
  });
  const forget = async () => {
    if (!window.caches) return;
    for (const name of await caches.keys()) if (name.startsWith("pages-")) await caches.delete(name);
  };
  const logOut = async (e, form) => {
    e.preventDefault();
    let n = 0;
    try { n = (await marks()).filter(mine).length; } catch { /* nothing is kept here */ }
    if (n > 0 && !form.dataset.sure) {
      form.dataset.sure = "yes";
      note = count(n, "mark is", "marks are") + " not sent yet. " + (n === 1 ? "It stays" : "They stay") + " on this phone until " + page.by + " logs in here again. Press Log out once more to leave all the same.";
      tell();
      return;
    }
    leaving = true;
    await forget().catch(() => { /* the worker clears them too */ });
    HTMLFormElement.prototype.submit.call(form);
  };

  // ---- the whole round, and the service worker ----

  const wholeRound = async () => {
    const list = document.querySelector(".jobs[data-all]");
    if (!list || !list.querySelector(":scope > li > .jtop")) return;
    const res = await fetch("/round?all=yes", { credentials: "same-origin" });
    if (!res.ok) return;
    const whole = new DOMParser().parseFromString(await res.text(), "text/html");
    for (const li of list.querySelectorAll(":scope > li")) {
      const full = li.querySelector(":scope > .jtop") && whole.getElementById(li.id);
      if (!full || !full.querySelector(":scope > details")) continue;
      const anew = document.importNode(full, true);
      anew.classList.remove("now");
      anew.querySelector(":scope > details").open = false;
      anew.querySelector(":scope > .here")?.remove();
      li.replaceWith(anew);
      document.dispatchEvent(new CustomEvent("cards", { detail: anew }));
    }
    await paintAll();
  };
  const register = async () => {
    if (!("serviceWorker" in navigator) || !page.by) return;
    await navigator.serviceWorker.register("/sw.js");
    const { active } = await navigator.serviceWorker.ready;
    navigator.storage?.persist?.();
    if (location.pathname !== "/round") return;
    const cages = [...new Set([...document.querySelectorAll('.jobs a[href^="/cage/"]')].map((a) => new URL(a.href).pathname))];
    active?.postMessage({ keep: ["/round?all=yes", "/kept/none", "/phone", ...cages] });
  };

  // ---- begin ----

  const begin = async () => {
    const phone = document.querySelector("[data-phone]");
    if (phone) phone.dataset.phone = window.isSecureContext && "serviceWorker" in navigator ? "secure" : "open";
    if (!page.by) return;
    try {
      // a page that comes from the room just now knows its time; one that was kept goes by what was measured last
      const came = performance.getEntriesByType("navigation")[0];
      const now = came && came.transferSize > 0 && !navigator.serviceWorker?.controller;
      skew = now ? page.made - Math.round(performance.timeOrigin + came.responseStart) : (await fact("skew")) ?? 0;
      // the form that this page shows again, to be mended, waits no longer on its own
      for (const m of await marks()) {
        if (m.state === "sending") await change(m.seq, (x) => { x.state = "waiting"; x.tried = true; }); // the page was closed meanwhile
        if (page.wrong && m.once === page.wrong) await drop(m.seq);
      }
      if (!page.wrong) sessionStorage.removeItem("mending");
      if (location.pathname === "/sort") await setFact("clashes", 0);
      await paintAll();
    } catch { /* the browser keeps nothing; forms are sent as ever */ }
    await tell();
    await again();
    if (reached) setTimeout(() => { wholeRound().catch(() => { /* the cards that are here go on */ }).finally(() => register().catch(() => { /* the page works without */ })); }, 300);
  };
  window.addEventListener("online", again);
  window.addEventListener("offline", () => { reached = false; tell(); plan(); });
  window.addEventListener("pageshow", (e) => { if (e.persisted) again(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden && reached === false) again(); });
  if (others) others.onmessage = () => { paintAll().then(tell).catch(() => { /* nothing is kept here */ }); };
  begin();
})();
