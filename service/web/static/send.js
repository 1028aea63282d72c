// Sends the chosen photos one by one, each with its own progress; the first makes the new board, the rest join it.
"use strict";
const form = document.getElementById("send");
const chooser = document.getElementById("photos");
const list = document.getElementById("chosen");
const said = document.getElementById("said");
const boardField = document.getElementById("board");
const words = form.dataset;

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
  text.append(name, progress, state);
  item.append(picture, text);
  return { item, state, progress, file, done: false };
}

let rows = [];
function showChosen() {
  rows = [...chooser.files].map(row);
  list.replaceChildren(...rows.map((each) => each.item));
  list.hidden = rows.length === 0;
  said.textContent = "";
}

function sendOne(each, board) {
  const data = new FormData(form);
  data.delete("photos");
  data.append("photos", each.file, each.file.name);
  data.set("board", board);
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("accept", "application/json");
    request.responseType = "json";
    each.progress.hidden = false;
    each.state.textContent = words.sending;
    request.upload.onprogress = (event) => { if (event.lengthComputable) each.progress.value = event.loaded / event.total; };
    request.onload = () => (request.status === 201 ? resolve(request.response) : reject(request.response));
    request.onerror = () => reject(null);
    request.send(data);
  });
}

function tellFailure(each, answer) {
  each.progress.hidden = true;
  each.state.textContent = answer ? `${words.notSent}: ${answer.message} ${answer.what_to_do}` : words.notSent;
}

async function sendAll(event) {
  event.preventDefault();
  if (rows.length === 0) { said.textContent = words.none; chooser.focus(); return; }
  const button = form.querySelector("button[type=submit]");
  button.disabled = true;
  let board = boardField.value;
  for (const each of rows.filter((one) => !one.done)) {
    try {
      const answer = await sendOne(each, board);
      board = answer.board;
      each.done = true;
      each.progress.value = 1;
      each.state.textContent = answer.known ? words.known : words.sent;
    } catch (answer) { tellFailure(each, answer); }
  }
  button.disabled = false;
  if (rows.every((each) => each.done)) location.assign(`/boards/${board}`);
  else button.textContent = words.again;
}

chooser.addEventListener("change", showChosen);
boardField.addEventListener("change", showNewBoard);
form.addEventListener("submit", sendAll);
showNewBoard();
showChosen();
