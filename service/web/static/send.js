// Sends the chosen photos one by one, each with its own progress; the first makes the new board, the rest join it,
// unless each is to make its own. One that was checked before stays where it is and decides nothing for the others.
// Every photo is kept in the browser first and until it has arrived, so that closing the page loses none.
"use strict";
const form = document.getElementById("send");
const chooser = document.getElementById("photos");
const list = document.getElementById("chosen");
const said = document.getElementById("said");
const boardField = document.getElementById("board");
const words = form.dataset;
const view = document.getElementById("view");
form.querySelector("[data-one-view]").hidden = true; // every photo says for itself what it shows

function showNewBoard() {
  for (const part of form.querySelectorAll("[data-new-board]")) part.hidden = boardField.value !== "";
}

const several = document.getElementById("several");
const [oneBoard, ownBoards] = several.querySelectorAll("[name=each]");
const leftOfSeveral = () => rows.length > 1 || (chooser.files.length > 1 && rows.some((each) => each.tried));
const eachItsOwn = () => !several.hidden && ownBoards.checked;

// While several photos are to make new boards, it is asked whether each makes its own. Then all of them show ends or
// practice cuts; with a face among them it is said why not.
function showSeveral() {
  const faces = rows.some((each) => !["end", "drill"].includes(each.shows.value));
  const ends = rows.every((each) => each.shows.value === "end");
  several.hidden = boardField.value !== "" || !leftOfSeveral();
  if (faces) oneBoard.checked = true;
  ownBoards.disabled = faces;
  document.getElementById("several-hint").hidden = faces;
  document.getElementById("ends-only").hidden = !faces;
  for (const each of rows) each.shows.hidden = ends && eachItsOwn();
}

function takeOutButton(file) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = words.out;
  button.setAttribute("aria-label", `${words.out}: ${file.name}`);
  return button;
}

function row(file) {
  const item = document.createElement("li");
  const picture = document.createElement("img");
  picture.alt = "";
  picture.src = URL.createObjectURL(file);
  picture.onerror = () => picture.removeAttribute("src");
  const text = document.createElement("div");
  const name = document.createElement("p");
  name.textContent = file.name;
  const state = document.createElement("p");
  state.className = "muted";
  const progress = document.createElement("progress");
  progress.max = 1;
  progress.value = 0;
  progress.setAttribute("aria-label", file.name);
  progress.hidden = true;
  const shows = view.cloneNode(true);
  shows.removeAttribute("id");
  shows.setAttribute("aria-label", `${view.labels[0].textContent}: ${file.name}`);
  const out = takeOutButton(file);
  text.append(name, shows, progress, state, out);
  item.append(picture, text);
  const { tried, number } = tries.get(sameFile(file)) || { tried: 0, number: 0 };
  const each = { item, shows, state, progress, out, file, tried, number, kept: 0, board: "", own: false, done: false, known: false, later: false, failed: false, refused: false };
  out.addEventListener("click", () => takeOut(each));
  return each;
}

const STALLED_MS = 45000; // an upload that has not moved for so long is as good as none
const owner = form.elements.kept_for;
const button = form.querySelector("button[type=submit]");
const check = button.textContent;
const work = document.getElementById("assignment"); // where there is none to hand in to, it is missing
const OF_THIS_BOARD_ALONE = ["name", "thickness", "notes"];
let rows = [];
let batch = "", board = ""; // of the photos that are sent together: once the first new one has arrived, it has a board

// The button says that a new board will be handed in: on a phone the field for it is out of sight.
function nameButton() {
  const handsIn = work && work.value !== "" && boardField.value === "";
  button.textContent = rows.some((each) => each.failed) ? words.again : handsIn ? button.dataset.in : check;
}

// Photos that this page has sent before and that are chosen once more, beside others, go on with their board.
const tries = new Map();
const sameFile = (file) => `${file.name} ${file.size} ${file.lastModified}`;

function showChosen() {
  rows = [...chooser.files].map(row);
  if (!rows.some((each) => each.tried)) {
    batch = `${Date.now()}-${Math.random()}`;
    board = "";
  }
  nameButton();
  list.replaceChildren(...rows.map((each) => each.item));
  list.hidden = rows.length === 0;
  said.textContent = "";
  showSeveral();
}

function clearChosen() {
  chooser.value = "";
  showChosen();
}

function takeOut(each) {
  rows = rows.filter((other) => other !== each);
  each.item.remove();
  showSeveral();
  if (rows.length) goOn();
  else clearChosen();
  chooser.focus();
}

// Nothing left to send: on to the board of what is new, or to the log when each made its own; both tell where each
// photo is that was checked before.
function goOn() {
  nameButton();
  if (!rows.every((each) => each.done)) return;
  const known = new Set(rows.filter((each) => each.known).map((each) => each.board));
  const first = rows.find((each) => !each.known) || rows[0];
  const told = new URLSearchParams([...known].map((id) => ["known", id]));
  const place = rows.length > 1 && rows.some((each) => each.own) ? "/boards" : `/boards/${first.board}`;
  location.assign(`${place}${known.size ? `?${told}` : ""}`);
}

// What is to be sent later is shown among what is kept; the form is ready for the next board.
function handOver() {
  const why = rows.filter((one) => one.later).map((one) => one.why).find(Boolean);
  for (const each of rows.filter((one) => one.done && !one.later)) sentKept(each.file, each.board, each.known);
  for (const each of rows.filter((one) => one.done)) each.item.remove();
  rows = rows.filter((each) => !each.done);
  if (rows.length === 0) {
    clearChosen();
    oneBoard.checked = true;
    for (const name of OF_THIS_BOARD_ALONE) if (form.elements[name]) form.elements[name].value = "";
  }
  said.textContent = why ? `${why} ${words.later}` : words.kept;
  askForBackground();
  sendKept();
}

function fieldsOf(each) {
  const data = new FormData(form);
  data.delete("photos");
  data.set("view", each.shows.value);
  data.set("each", each.own ? "yes" : "");
  data.set("number", each.own ? each.number : 0);
  return data;
}

// The number of the board that a photo makes of its own is its place among the chosen; one that was sent keeps its own.
function giveNumbers() {
  const taken = new Set(rows.filter((each) => each.tried).map((each) => each.number));
  let number = 0;
  for (const each of rows) {
    if (!each.tried) {
      do number += 1; while (taken.has(number));
      each.number = number;
    }
    number = each.number;
  }
}

// The answer to one photo; rejects with what was answered instead, or with null when nothing was.
function sendOne(each, board) {
  const data = fieldsOf(each);
  data.append("photos", each.file, each.file.name);
  data.set("board", board);
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    let stalled = 0;
    const moves = () => { clearTimeout(stalled); stalled = setTimeout(() => request.abort(), STALLED_MS); };
    request.open("POST", form.action);
    request.setRequestHeader("accept", "application/json");
    request.responseType = "json";
    each.progress.hidden = false;
    each.state.className = "muted";
    each.state.textContent = words.sending;
    request.upload.onprogress = (event) => {
      moves();
      if (event.lengthComputable) each.progress.value = event.loaded / event.total;
    };
    request.onload = () => (request.status === 201 ? resolve(request.response) : reject({ status: request.status, ...request.response }));
    request.onerror = request.onabort = () => reject(null);
    request.onloadend = () => clearTimeout(stalled);
    moves();
    request.send(data);
  });
}

async function hasArrived(each, answer) {
  each.done = true;
  each.failed = false;
  each.known = kept.knownBefore(answer, each.tried);
  each.board = answer.board;
  each.progress.value = 1;
  each.out.remove();
  if (!each.known && !each.own) {
    board = answer.board;
    await kept.join(batch, board).catch(() => undefined); // first: the page may be closed any moment
  }
  if (each.kept) await kept.remove(each.kept);
  const link = document.createElement("a");
  link.href = `/boards/${answer.board}`;
  link.textContent = words.toBoard;
  each.state.replaceChildren(`${each.known ? words.known : words.sent}. `, link);
}

// What no other try can change: the file is no photo that can be taken.
const isOfTheFile = (answer) => answer !== null && (answer.field === "photo" || answer.status === 413);
const saidIn = (answer) => (answer && answer.message ? [answer.message, answer.what_to_do].filter(Boolean).join(" ") : "");
const isForLater = (answer) => answer === null || answer.status >= 500 || [401, 403, 408, 429].includes(answer.status);

async function keepNoLonger(each) {
  if (each.kept) await kept.remove(each.kept);
  each.kept = 0;
}

async function hasNotArrived(each, answer) {
  each.progress.hidden = true;
  if (each.kept && isForLater(answer)) {
    each.done = each.later = true;
    each.why = answer !== null && answer.status >= 500 ? saidIn(answer) : "";
    return;
  }
  each.refused = isOfTheFile(answer);
  each.failed = !each.refused;
  await keepNoLonger(each);
  each.state.className = "not-sent";
  each.state.textContent = saidIn(answer) ? `${words.notSent}: ${saidIn(answer)}` : words.notSent;
}

// A mistake in what was said of the board is told at its field, once; no photo is sent with it or kept for later.
async function tellMistake(answer, waiting) {
  for (const each of waiting.filter((one) => !one.done)) {
    each.progress.hidden = true;
    each.state.textContent = "";
    await keepNoLonger(each);
  }
  stays.tell(form, answer);
}

// All that can be sent is kept at once: another page of this browser may be sending for long before it is its turn.
async function keepChosen() {
  const waiting = rows.filter((one) => !one.done && !one.refused);
  const own = eachItsOwn();
  board = board || boardField.value;
  giveNumbers();
  for (const each of waiting) {
    each.own = own;
    each.at = Date.now();
    each.kept = each.kept || await kept.keep(each.file, [...fieldsOf(each).entries()], batch, own ? "" : board).catch(() => 0);
    each.state.className = "muted";
    each.state.textContent = each.kept ? words.turn : "";
  }
  return waiting;
}

// One after the other; once the network is away the rest is not even tried.
async function sendChosen(waiting) {
  let away = false;
  for (const each of waiting) each.state.textContent = "";
  for (const each of waiting) {
    try {
      if (away && each.kept) throw null;
      each.tried = each.tried || kept.since(each.at);
      tries.set(sameFile(each.file), { tried: each.tried, number: each.number });
      if (each.kept) await kept.begin(each.kept, each.tried);
      await hasArrived(each, await sendOne(each, each.own ? "" : board));
    } catch (answer) {
      if (answer && stays.fieldOf(form, answer.field)) { await tellMistake(answer, waiting); return; }
      away = away || answer === null;
      await hasNotArrived(each, answer);
    }
  }
}

// What was said of a photo that was not sent, in sight and read out.
function leadToNotSent() {
  const wrong = rows.find((each) => !each.done);
  if (!wrong) return;
  wrong.state.tabIndex = -1;
  wrong.state.focus({ preventScroll: true });
  wrong.item.scrollIntoView({ block: "center" });
}

async function sendAll(event) {
  event.preventDefault();
  const open = rows.some((each) => !each.done && !each.refused);
  if (!open && !rows.every((each) => each.done)) said.textContent = words.outFirst;
  if (rows.length === 0) said.textContent = words.none;
  if (!open) {
    chooser.focus({ preventScroll: true });
    said.scrollIntoView({ block: "center" });
    return;
  }
  const idle = (none) => { for (const each of [button, chooser, ...rows.map((one) => one.out)]) each.disabled = !none; };
  stays.forget(form);
  said.textContent = "";
  idle(false);
  if (!owner.value) owner.value = keeper.id;
  await kept.hold(batch, async () => {
    const waiting = await keepChosen();
    await kept.alone(() => sendChosen(waiting));
  });
  idle(true);
  if (rows.some((each) => each.later)) handOver();
  else goOn();
  if (!form.querySelector(".mistake")) leadToNotSent();
}

chooser.addEventListener("change", showChosen);
boardField.addEventListener("change", () => { board = ""; showNewBoard(); });
form.addEventListener("change", () => { showSeveral(); nameButton(); });
form.addEventListener("submit", sendAll);
showNewBoard();
showChosen();
