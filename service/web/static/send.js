// Sends the chosen photos one by one, each with its own progress; the first makes the new board, the rest join it.
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
  text.append(name, shows, progress, state);
  item.append(picture, text);
  return { item, shows, state, progress, file, kept: 0, done: false, later: false };
}

const STALLED_MS = 45000; // an upload that has not moved for so long is as good as none
const owner = form.elements.kept_for;
let rows = [];
let batch = "";

function showChosen() {
  rows = [...chooser.files].map(row);
  batch = `${Date.now()}-${Math.random()}`;
  list.replaceChildren(...rows.map((each) => each.item));
  list.hidden = rows.length === 0;
  said.textContent = "";
}

function clearChosen() {
  if (!rows.every((each) => each.done)) return;
  chooser.value = "";
  showChosen();
  said.textContent = words.kept;
}

function fieldsOf(each) {
  const data = new FormData(form);
  data.delete("photos");
  data.set("view", each.shows.value);
  return data;
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
  if (each.kept) await kept.remove(each.kept);
  await kept.join(batch, answer.board).catch(() => undefined);
  each.done = true;
  each.progress.value = 1;
  each.state.textContent = answer.known ? words.known : words.sent;
}

const isForLater = (answer) => answer === null || answer.status >= 500 || [401, 403, 408, 429].includes(answer.status);

async function hasNotArrived(each, answer) {
  each.progress.hidden = true;
  if (each.kept && isForLater(answer)) {
    each.done = each.later = true;
    each.state.textContent = words.kept;
    return;
  }
  if (each.kept) await kept.remove(each.kept);
  each.kept = 0;
  each.state.textContent = answer && answer.message ? `${words.notSent}: ${answer.message} ${answer.what_to_do}` : words.notSent;
}

// All that is chosen, one after the other; once the network is away the rest is not even tried.
async function sendChosen() {
  const waiting = rows.filter((one) => !one.done);
  let board = boardField.value, away = false;
  for (const each of waiting) {
    each.kept = each.kept || await kept.keep(each.file, [...fieldsOf(each).entries()], batch, board).catch(() => 0);
  }
  for (const each of waiting) {
    try {
      if (away && each.kept) throw null;
      const answer = await sendOne(each, board);
      board = answer.board;
      await hasArrived(each, answer);
    } catch (answer) {
      away = away || answer === null;
      await hasNotArrived(each, answer);
    }
  }
  return board;
}

async function sendAll(event) {
  event.preventDefault();
  if (rows.length === 0) { said.textContent = words.none; chooser.focus(); return; }
  const button = form.querySelector("button[type=submit]");
  button.disabled = true;
  if (!owner.value) owner.value = keeper.id;
  const board = await kept.alone(sendChosen);
  button.disabled = false;
  if (rows.some((each) => each.later)) {
    if (board) for (const each of rows) if (each.done && !each.later) sentKept(each.file, board);
    clearChosen();
    askForBackground();
    sendKept();
  } else if (rows.every((each) => each.done)) location.assign(`/boards/${board}`);
  else button.textContent = words.again;
}

chooser.addEventListener("change", showChosen);
boardField.addEventListener("change", showNewBoard);
form.addEventListener("submit", sendAll);
showNewBoard();
showChosen();
