// Photos are kept in the browser from the moment of sending until they have arrived: closing the page loses nothing.
// Used by pages, and by the service worker where the browser lets it send in the background.
"use strict";
const kept = (() => {
  const STORE = "photos", PATIENCE_MS = 180000, BATCH = "tailproof-batch-";
  const { locks } = self.navigator;
  const here = new Set(); // batches that this page is about to send by itself
  let opened = null, turn = Promise.resolve();

  function database() {
    opened = opened || new Promise((resolve, reject) => {
      const request = indexedDB.open("tailproof", 1);
      request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "id", autoIncrement: true });
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
    return opened;
  }

  async function within(mode, work) {
    const transaction = (await database()).transaction(STORE, mode);
    const asked = work(transaction.objectStore(STORE));
    return new Promise((resolve, reject) => {
      transaction.oncomplete = () => resolve(asked.result);
      transaction.onerror = transaction.onabort = () => reject(transaction.error);
    });
  }

  const list = () => within("readonly", (store) => store.getAll());
  const get = (id) => within("readonly", (store) => store.get(id));
  const put = (item) => within("readwrite", (store) => store.put(item));
  // Only what is still there is changed: what was sent or discarded meanwhile does not come back.
  const change = (id, values) => within("readwrite", (store) => {
    const asked = store.get(id);
    asked.onsuccess = () => { if (asked.result) store.put({ ...asked.result, ...values }); };
    return asked;
  });
  const remove = (id) => within("readwrite", (store) => store.delete(id));
  const whose = (item) => new Map(item.fields).get("kept_for") || "";
  const makesItsOwn = (item) => new Map(item.fields).get("each") === "yes";

  // `fields` are the form's entries without the photo; photos of one `batch` go to one board, unless they say that each
  // makes its own. The bytes are copied: the file itself may be gone from the phone before it is sent. Resolves to its
  // id here.
  async function keep(file, fields, batch, board) {
    const copy = new Blob([await file.arrayBuffer()], { type: file.type });
    if (self.navigator.storage && self.navigator.storage.persist) self.navigator.storage.persist();
    return put({ file: copy, name: file.name, fields, batch, board, state: "waiting", said: "", at: Date.now() });
  }

  // Since when a photo that is to be sent now, kept `at` that moment, may have arrived: without locks another page may
  // have sent it at any time.
  const since = (at) => (locks ? Date.now() : at);

  // Without an answer a photo may have arrived all the same: the moment since which it is sent tells it from a known one.
  async function begin(id, tried) {
    const item = await get(id);
    if (item && !item.tried) await change(id, { tried });
  }

  // Whether an answer says that the photo was there before it was first `tried` to be sent: its board is then its own,
  // and says nothing of the others'.
  const knownBefore = (answer, tried) => answer.known && 1000 * answer.age_s > Date.now() - tried;

  // The board that the first new photo of a batch has made is that of all others.
  async function join(batch, board) {
    for (const item of await list()) {
      if (item.batch === batch && !item.board && !makesItsOwn(item)) await change(item.id, { board });
    }
  }

  const inTime = () => (AbortSignal.timeout ? AbortSignal.timeout(PATIENCE_MS) : undefined);
  const asking = { headers: { accept: "application/json" } };

  // Who is signed in: an id, nothing for nobody, null when the service is out of reach.
  async function signedIn() {
    try {
      const reply = await fetch("/signed-in", { ...asking, signal: inTime() });
      if (reply.status === 401) return "";
      return reply.ok ? (await reply.json()).person : null;
    } catch { return null; }
  }

  function post(item) {
    const data = new FormData();
    for (const [name, value] of item.fields) data.append(name, value);
    data.set("board", item.board);
    data.append("photos", item.file, item.name);
    return fetch("/photos", { ...asking, method: "POST", body: data, signal: inTime() });
  }

  // What an answer means for a kept photo: gone for it has arrived, or how it stands now. Resolves to its board, and
  // whether it was known there before; to null when it has not arrived.
  async function settle(item, reply) {
    const answer = await reply.json().catch(() => ({}));
    if (reply.status === 201) {
      const known = knownBefore(answer, item.tried);
      if (!known && !makesItsOwn(item)) await join(item.batch, answer.board); // first: the page may be closed any moment
      await remove(item.id);
      return { board: answer.board, known };
    }
    if (reply.status === 404) { // its board or assignment is there no more: the next try makes a new board
      const fields = item.fields.filter(([name]) => name !== "assignment");
      await change(item.id, { fields, board: "", state: "gone" });
    } else {
      const said = [answer.message, answer.what_to_do].filter(Boolean).join(" ");
      await change(item.id, { state: meaning(reply.status), said });
    }
    return null;
  }

  function meaning(status) {
    if (status === 401) return "stranger";
    if (status === 403) return "other";
    return status >= 500 || status === 408 || status === 429 ? "waiting" : "refused";
  }

  // One photo for whoever is signed in; false when the network is away again.
  async function sendOne(item, person, tell) {
    const mine = !whose(item) || whose(item) === person, begun = { ...item, tried: item.tried || since(item.at) };
    if (!person || !mine) return change(item.id, { state: person ? "other" : "stranger" }).then(() => true);
    try {
      await begin(item.id, begun.tried);
      const arrived = await settle(begun, await post(item));
      if (tell && arrived) tell(item, arrived.board, arrived.known);
      return true;
    } catch {
      await change(item.id, { state: "waiting", said: "" });
      return false;
    }
  }

  // Send all that can be sent; true when nothing waits for the network. What was refused is only tried `again` when
  // its id is given.
  async function sendWaiting(tell, again) {
    if ((await list()).length === 0) return true;
    const person = await signedIn();
    if (person === null) return false;
    for (const { id } of await list()) {
      const item = await get(id);
      if (!item || (["refused", "gone"].includes(item.state) && id !== again) || (await held()).has(item.batch)) continue;
      if (!(await sendOne(item, person, tell))) return false;
    }
    return (await list()).every((item) => item.state !== "waiting");
  }

  // Meanwhile nobody else sends what is kept of a batch, neither this page's own later tries nor, where the browser has
  // locks, another page: it may have to wait long for its turn. A page that is closed holds nothing any more.
  async function hold(batch, work) {
    here.add(batch);
    try { return await (locks ? locks.request(BATCH + batch, work) : work()); } finally { here.delete(batch); }
  }

  async function held() {
    const names = locks ? (await locks.query()).held.map(({ name }) => name) : [];
    return new Set([...here, ...names.filter((name) => name.startsWith(BATCH)).map((name) => name.slice(BATCH.length))]);
  }

  // One sender at a time: over all pages where the browser has locks, else within this one.
  function alone(work) {
    if (locks) return locks.request("tailproof-kept", work);
    turn = turn.catch(() => undefined).then(work);
    return turn;
  }

  const send = (tell = null, again = 0) => alone(() => sendWaiting(tell, again));
  return { alone, begin, held, here, hold, join, keep, knownBefore, list, remove, send, since, whose };
})();
