// Keeps the round, its cages and the static files, so that they open without a network. The server puts HASH, of all static
// files, and FILES, their addresses, in front.
//
// Pages are kept for the person whom the server gave them to (header Kept-For) and for nobody else: the first answer for
// another person, a log-in page, or a log-out clears them.
"use strict";
const STATIC = "static-" + HASH;
const enough = 6000; // ms until a page that is kept is shown instead of one that does not come
const fresh = 10 * 60 * 1000; // ms for which a page that is kept is not fetched anew ahead of time

const clear = async (but) => {
  for (const name of await caches.keys()) if (name.startsWith("pages-") && name !== but) await caches.delete(name);
};

self.addEventListener("install", (e) => {
  e.waitUntil(caches.open(STATIC).then((c) => c.addAll(FILES)).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (e) => {
  e.waitUntil((async () => {
    let renewed = false;
    for (const name of await caches.keys()) {
      if (name.startsWith("static-") && name !== STATIC) { renewed = true; await caches.delete(name); }
    }
    if (renewed) await clear(); // they name files that are there no longer
    await self.clients.claim();
  })());
});

// key is under which a page is kept; "" for one that is not
const key = (url) => {
  if (url.pathname === "/" || url.pathname === "/round") return "/round";
  if (/^\/cage\/[^/]+$/.test(url.pathname) || url.pathname === "/kept/none" || url.pathname === "/phone") return url.pathname;
  return "";
};
const found = async (k) => {
  if (k === "") return undefined;
  for (const name of await caches.keys()) {
    const hit = name.startsWith("pages-") && await (await caches.open(name)).match(k);
    if (hit) return hit;
  }
  return undefined;
};
// note keeps a page that came, and forgets those of others
const note = async (k, res) => {
  const person = res.headers.get("Kept-For");
  if (!person) return;
  await clear("pages-" + person);
  if (!res.ok || k === "" || person === "nobody" || (k === "/round" && !res.headers.get("Kept-Whole"))) return;
  const headers = new Headers(res.headers);
  headers.delete("Content-Encoding");
  headers.delete("Content-Length");
  headers.set("Kept-At", String(Date.now()));
  await (await caches.open("pages-" + person)).put(k, new Response(await res.blob(), { status: 200, headers }));
};
const page = async (e, url) => {
  const k = key(url);
  const kept = await found(k);
  const asked = fetch(e.request).then((res) => {
    if (res.type === "basic") e.waitUntil(note(k, res.clone()).catch(() => { /* no room left: the page is shown all the same */ }));
    return res;
  });
  try {
    if (!kept) return await asked;
    asked.catch(() => { /* told below, or too late */ });
    return await Promise.race([asked, new Promise((_, no) => setTimeout(() => no(new Error("slow")), enough))]);
  } catch (err) {
    const instead = kept || await found("/kept/none");
    if (instead) return instead;
    throw err;
  }
};

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (url.origin !== self.location.origin) return;
  if (e.request.method === "POST" && url.pathname === "/logout") {
    e.respondWith(fetch(e.request).finally(() => clear()));
    return;
  }
  if (e.request.method !== "GET") return;
  if (url.pathname.startsWith("/static/")) {
    e.respondWith(caches.match(e.request).then((hit) => hit || fetch(e.request)));
  } else if (e.request.mode === "navigate" || (url.pathname === "/round" && url.searchParams.has("all"))) {
    e.respondWith(page(e, url));
  }
});

let keeping = Promise.resolve();
self.addEventListener("message", (e) => {
  if (!Array.isArray(e.data?.keep)) return;
  keeping = keeping.then(async () => {
    for (const path of e.data.keep) {
      const url = new URL(path, self.location.origin);
      const k = key(url);
      const kept = await found(k);
      if (k === "" || (kept && Date.now() - Number(kept.headers.get("Kept-At")) < fresh)) continue;
      await note(k, await fetch(url, { credentials: "same-origin", redirect: "error" }));
    }
  }).catch(() => { /* no network: they are kept the next time */ });
  e.waitUntil(keeping);
});
