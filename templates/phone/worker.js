/* Keeps the whole site on the phone, and answers from there first. Before this stands SITE: its `version`, every file's
   address below this one with the hash of its bytes (`files`), every name by which a page may be asked for in small
   letters with the address it stands for (`names`), and what is kept before all else (`first`).
   A version is kept in a store of its own, and takes over only once it has all that the phone had of the last one, so
   that nobody meets half an update. What did not change is taken from the last store and not fetched again. */
"use strict";
const ROOT = new URL("./", self.location);
const PREFIX = `homecare ${ROOT.href} `, STORE = PREFIX + SITE.version;
const FILES = new Map(Object.entries(SITE.files)), NAMES = new Map(Object.entries(SITE.names));
const MARK = "Homecare-Hash", LANES = 4;
const KINDS = { css: "text/css; charset=utf-8", js: "text/javascript; charset=utf-8", svg: "image/svg+xml", png: "image/png",
  webmanifest: "application/manifest+json" };

function address(path) { return new URL(path, ROOT).href; }

function kindOf(path) { return KINDS[path.slice(path.lastIndexOf(".") + 1)] || "text/html; charset=utf-8"; }

/* The address below ROOT of the file that a URL stands for, or null. */
function pathOf(url) {
  if (url.origin !== ROOT.origin || !url.pathname.startsWith(ROOT.pathname)) { return null; }
  const path = url.pathname.slice(ROOT.pathname.length).replace(/(^|\/)index\.html$/, "$1");
  if (FILES.has(path)) { return path; }
  return NAMES.get(path.replace(/\/$/, "").toLowerCase()) || null;
}

async function hashOf(body) {
  const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("").slice(0, 32);
}

/* What the browser happens to have will do when it is of this version; else the host is asked. One that is just being
   written to may still hold another version's file: that is refused, and asked for again another time. The answer is
   made anew, without the host's headers and redirects. */
async function fetched(path) {
  for (const cache of ["default", "reload"]) {
    const answer = await fetch(address(path), { cache: cache });
    const body = await answer.arrayBuffer();
    if (answer.ok && await hashOf(body) === FILES.get(path)) {
      return new Response(body, { headers: { "Content-Type": kindOf(path), [MARK]: FILES.get(path) } });
    }
  }
  throw new Error(`${path} is not there in this version`);
}

/* This version's store; null once a later version has removed it, since it must not come back. */
async function ownStore() { return (await caches.has(STORE)) ? caches.open(STORE) : null; }

async function lastStores() {
  const names = await caches.keys();
  return Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== STORE).map((name) => caches.open(name)));
}

async function keep(store, path, last) {
  const url = address(path);
  if (await store.match(url)) { return; }
  for (const one of last) {
    const kept = await one.match(url);
    if (kept && kept.headers.get(MARK) === FILES.get(path)) { await store.put(url, kept); return; }
  }
  await store.put(url, await fetched(path));
}

async function keepAll(store, paths, last) {
  const waiting = [...paths];
  async function lane() { while (waiting.length) { await keep(store, waiting.shift(), last); } }
  await Promise.all(Array.from({ length: LANES }, lane));
}

/* What is kept before this version takes over: the pages that are open, the first files, and all that the phone had. */
async function install() {
  const open = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
  const last = await lastStores();
  const had = await Promise.all(last.map((one) => one.keys()));
  const [shown, kept] = [open, had.flat()].map((some) => some.map((one) => pathOf(new URL(one.url))));
  const wanted = new Set([...shown, ...SITE.first, ...kept]);
  wanted.delete(null);
  await keepAll(await caches.open(STORE), wanted, last);
  await self.skipWaiting();
}

async function activate() {
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== STORE) { await caches.delete(name); }
  }
  await self.clients.claim();
}

async function state(client, saving) {
  const store = await ownStore(), path = pathOf(new URL(client.url));
  if (!store) { return; }
  const page = path !== null && Boolean(await store.match(address(path)));
  client.postMessage({ page: page, all: (await store.keys()).length >= FILES.size, saving: saving });
}

let filling = null;
async function fill() {
  const store = await ownStore();
  if (!store) { return; }
  try { await keepAll(store, FILES.keys(), []); } catch (fault) { /* no signal: the rest comes with the next visit */ }
}

async function told(message, client) {
  if (message !== "save") { return state(client, false); }
  filling = filling || fill().finally(() => { filling = null; });
  await state(client, true);
  await filling;
  await state(client, false);
}

async function fromStore(path) {
  const store = await ownStore();
  return store ? store.match(address(path)) : undefined;
}

/* A page that is not kept yet is fetched and kept; one of a version that this worker does not know is only shown. */
async function notKept(path, request) {
  try {
    const store = await ownStore();
    await keep(store, path, []);
    return await store.match(address(path));
  } catch (fault) {
    return fetch(request);
  }
}

async function page(url, request) {
  const path = pathOf(url);
  if (path === null) { return fetch(request).catch(() => fromStore("404.html")); }
  const asked = url.pathname.slice(ROOT.pathname.length).replace(/(^|\/)index\.html$/, "$1");
  // A page stands in a folder, and its links count on that; the dose behind the # goes with it.
  if (asked !== path && asked !== asked.toLowerCase().replace(/\/*$/, "/")) {
    return Response.redirect(address(path) + url.hash, 302);
  }
  const kept = await fromStore(path);
  return kept || notKept(path, request).catch(() => fromStore("unsaved/"));
}

async function file(path, request) { return (await fromStore(path)) || notKept(path, request); }

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("message", (event) => event.waitUntil(told(event.data, event.source)));
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== ROOT.origin || !url.pathname.startsWith(ROOT.pathname)) { return; }
  if (event.request.mode === "navigate") { event.respondWith(page(url, event.request)); return; }
  const path = pathOf(url);
  if (path !== null) { event.respondWith(file(path, event.request)); }
});
