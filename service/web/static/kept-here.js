// On every page: the service worker is registered, and kept photos are shown, and sent when the network is back.
"use strict";
const keptShown = document.getElementById("kept");
const keptNote = document.getElementById("kept-note");
const FIRST_WAIT_MS = 4000, LONGEST_WAIT_MS = 120000;
let waitMs = FIRST_WAIT_MS, timer = 0;

// Whose photos are kept when there is no network to ask: the last who was signed in here and did not sign out.
const keeper = {
  get id() { return localStorage.getItem("tailproof-person") || ""; },
  get name() { return localStorage.getItem("tailproof-name") || ""; },
  set({ person, name }) { localStorage.setItem("tailproof-person", person); localStorage.setItem("tailproof-name", name); },
  forget() { localStorage.removeItem("tailproof-person"); localStorage.removeItem("tailproof-name"); },
};
if (document.body.dataset.person) keeper.set(document.body.dataset);
for (const leaving of document.querySelectorAll("form[action='/sign-out'], form[action='/leave']")) {
  leaving.addEventListener("submit", keeper.forget);
}

const keeperShown = document.getElementById("keeper");
if (keeperShown) {
  keeperShown.textContent = keeper.name ? keeperShown.dataset.for.replace("{name}", keeper.name) : keeperShown.dataset.next;
}

// What another page is sending is its own: it is only said here.
function keptRow(item, elsewhere) {
  const words = keptShown.dataset, mine = !kept.whose(item) || kept.whose(item) === keeper.id;
  const row = document.createElement("li");
  if (mine) row.append(keptPicture(item));
  const text = document.createElement("div");
  text.append(keptLine(`${item.name}, ${momentHere.format(item.at)}`));
  const said = ["refused", "waiting"].includes(item.state) && item.said || words[item.state];
  text.append(keptLine(elsewhere ? words.elsewhere : said, "muted"));
  if (elsewhere) {
    row.append(text);
    return row;
  }
  const tools = document.createElement("div");
  tools.className = "tools";
  if (mine) tools.append(keptButton(words.retry, item, () => sendKept(item.id)));
  tools.append(keptButton(words.discard, item, () => discard(item, mine)));
  row.append(text, tools);
  return row;
}

function keptPicture(item) {
  const picture = document.createElement("img");
  picture.alt = "";
  picture.src = URL.createObjectURL(item.file);
  picture.onload = () => URL.revokeObjectURL(picture.src);
  picture.onerror = () => picture.removeAttribute("src");
  return picture;
}

function keptLine(words, kind = "") {
  const line = document.createElement("p");
  line.className = kind;
  line.textContent = words;
  return line;
}

function keptButton(label, item, work) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = label;
  button.setAttribute("aria-label", `${label}: ${item.name}`);
  button.addEventListener("click", work);
  return button;
}

async function discard(item, mine) {
  if (!confirm(mine ? keptShown.dataset.sure : keptShown.dataset.sureOther)) return;
  await kept.remove(item.id);
  showKept();
}

async function showKept() {
  const held = await kept.held();
  const items = (await kept.list()).filter((item) => !kept.here.has(item.batch)); // those stand among the chosen
  if (keptShown) {
    keptShown.hidden = items.length === 0;
    keptShown.querySelector("ul").replaceChildren(...items.map((item) => keptRow(item, held.has(item.batch))));
  } else if (keptNote) {
    keptNote.hidden = items.length === 0;
    keptNote.querySelector("b").textContent = items.length;
  }
}

function sentKept(item, board, known = false) {
  const place = document.getElementById("kept-sent");
  if (!place) return;
  const link = document.createElement("a");
  link.href = `/boards/${board}`;
  link.textContent = `${known ? keptShown.dataset.known : keptShown.dataset.sent}: ${item.name}`;
  const line = document.createElement("p");
  line.append(link);
  place.append(line);
  const before = document.getElementById("said"); // it said that the photo is kept
  if (before) before.textContent = "";
}

// Send what is kept, `again` by its id also when it was refused; while the network stays away, less and less often.
async function sendKept(again = 0) {
  clearTimeout(timer);
  const shown = showKept().catch(() => undefined); // another page may be sending for long
  const done = await kept.send(sentKept, again);
  await shown;
  await showKept();
  waitMs = done ? FIRST_WAIT_MS : Math.min(2 * waitMs, LONGEST_WAIT_MS);
  if (!done) timer = setTimeout(sendKept, waitMs);
}

async function askForBackground() {
  const ready = navigator.serviceWorker && await navigator.serviceWorker.ready;
  if (ready && ready.sync) await ready.sync.register("kept").catch(() => undefined);
}

if (navigator.serviceWorker) {
  navigator.serviceWorker.register("/sw.js");
  navigator.serviceWorker.addEventListener("message", ({ data }) => {
    for (const item of data) sentKept(item, item.board, item.known);
    showKept();
  });
}
window.addEventListener("online", () => { waitMs = FIRST_WAIT_MS; sendKept(); });
document.addEventListener("visibilitychange", () => { if (!document.hidden && timer) sendKept(); });
sendKept().catch(() => undefined); // a browser that keeps nothing, such as in a private window, has nothing to send
