// Numbered marks on the picture: put by a tap or a button, moved by finger or arrow keys, each with its comment.
import { keepDraft } from "./review_draft.js";
import { enlargeable } from "./enlarge.js";
import { offerPhrases } from "./phrases.js";

const form = document.getElementById("judge");
const stage = document.getElementById("judged");
const list = document.getElementById("marks");
const told = document.getElementById("told");
const words = form.dataset;
const STEP = 1, SMALL_STEP = 0.2, MOST = 40, A_TAP_PX = 5;
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
let marks = [];

const say = (sentence) => { told.textContent = sentence; };
const within = (part) => Math.min(100, Math.max(0, part));
const field = (mark, name) => mark.entry.querySelector(`[name=${name}]`);
const place = (mark) => ["x", "y"].map((name) => Number(field(mark, name).value.replace(",", ".")) || 0);

function show(mark) {
  const [x, y] = place(mark);
  mark.sign.setAttribute("x", `${within(x)}%`);
  mark.sign.setAttribute("y", `${within(y)}%`);
}

function move(mark, x, y) {
  field(mark, "x").value = within(x).toFixed(1);
  field(mark, "y").value = within(y).toFixed(1);
  show(mark);
  form.dispatchEvent(new Event("input"));
}

function number() {
  marks.forEach((mark, index) => {
    const n = index + 1;
    mark.entry.querySelector(".number").textContent = n;
    mark.sign.querySelector("text").textContent = n;
    mark.sign.setAttribute("aria-label", words.sign.replace("{number}", n));
    mark.entry.querySelector("[data-number]").textContent = n;
  });
}

function remove(mark) {
  marks = marks.filter((each) => each !== mark);
  mark.entry.remove();
  mark.sign.remove();
  number();
  form.dispatchEvent(new Event("input"));
  document.getElementById("add").focus();
}

function onKey(mark, event) {
  const [x, y] = place(mark), step = event.shiftKey ? SMALL_STEP : STEP, by = STEPS[event.key];
  if (by) move(mark, x + by[0] * step, y + by[1] * step);
  else if (event.key === "Enter") field(mark, "comment").focus();
  else if (event.key === "Delete" || event.key === "Backspace") remove(mark);
  else return;
  event.preventDefault();
}

function onDrag(mark, down) {
  down.preventDefault();
  mark.sign.setPointerCapture(down.pointerId);
  const box = stage.getBoundingClientRect(), [x, y] = place(mark);
  let far = false;
  const drag = (event) => {
    const dx = event.clientX - down.clientX, dy = event.clientY - down.clientY;
    far ||= Math.hypot(dx, dy) > A_TAP_PX;
    if (far) move(mark, x + (100 * dx) / box.width, y + (100 * dy) / box.height);
  };
  const drop = () => {
    mark.sign.removeEventListener("pointermove", drag);
    if (!far) field(mark, "comment").focus();
  };
  mark.sign.addEventListener("pointermove", drag);
  mark.sign.addEventListener("pointerup", drop, { once: true });
  mark.sign.addEventListener("pointercancel", drop, { once: true });
}

function adopt(entry) {
  const sign = document.getElementById("sign").content.querySelector(".spot").cloneNode(true);
  const mark = { entry, sign };
  stage.querySelector(".spots").append(sign);
  const taken = entry.querySelector("[data-remove]");
  taken.hidden = false;
  taken.addEventListener("click", () => remove(mark));
  field(mark, "comment").required = true;
  for (const name of ["x", "y"]) field(mark, name).addEventListener("input", () => show(mark));
  sign.addEventListener("keydown", (event) => onKey(mark, event));
  sign.addEventListener("pointerdown", (event) => onDrag(mark, event));
  // touch-action does not reach within a picture in SVG: without this the page would scroll and the mark stay.
  sign.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
  marks.push(mark);
  show(mark);
  number();
  return mark;
}

function put(x, y, comment = "") {
  if (marks.length >= MOST) return null;
  const entry = document.getElementById("entry").content.querySelector("li").cloneNode(true);
  list.append(entry);
  const mark = adopt(entry);
  field(mark, "comment").value = comment;
  move(mark, x, y);
  return mark;
}

// The comment that the mark needs, in sight on a phone as well.
function ask(mark) {
  field(mark, "comment").focus({ preventScroll: true });
  mark.entry.scrollIntoView({ block: "nearest" });
}

function onTap(event) {
  if (event.target.closest(".spot")) return;
  const box = stage.getBoundingClientRect();
  const mark = put((100 * (event.clientX - box.left)) / box.width, (100 * (event.clientY - box.top)) / box.height);
  if (!mark) return;
  say(words.placed.replace("{number}", marks.length));
  ask(mark);
}

// What is looked at more closely: the last mark, else the board's end where the page knows its place.
function matters() {
  const spot = marks.length ? place(marks.at(-1)) : stage.dataset.end?.split(" ").map(Number);
  return spot ? { x: spot[0] / 100, y: spot[1] / 100 } : null;
}

if (stage) {
  for (const entry of list.querySelectorAll(".mark")) adopt(entry);
  stage.addEventListener("click", onTap);
  const add = document.getElementById("add");
  add.hidden = false;
  add.addEventListener("click", () => {
    const mark = put(50, Math.min(90, 50 + 4 * marks.length));
    if (mark) { mark.sign.focus(); say(words.placed.replace("{number}", marks.length)); }
  });
  const enlarge = enlargeable(document.getElementById("pan"), stage, 8, matters);
  for (const button of form.querySelectorAll("[data-by]")) {
    button.hidden = false;
    button.addEventListener("click", () => enlarge(Number(button.dataset.by)));
  }
}
if (told.textContent.trim()) told.scrollIntoView({ block: "center" }); // that it was saved
keepDraft(form, () => marks.map((mark) => [...place(mark), field(mark, "comment").value]), put, say);
offerPhrases(form, say);
