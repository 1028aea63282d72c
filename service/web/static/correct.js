// The lines of the walls over the photo, true to size: their ends are dragged, or moved by keys; the numbers follow.
"use strict";
const form = document.getElementById("correct");
const stage = document.getElementById("lines-on-photo");
const loupe = document.getElementById("loupe");
const SVG = "http://www.w3.org/2000/svg";
const GRIP_PX = 26, ASIDE_PX = 46, LOUPE_TIMES = 3, STEP_PX = 1, FINE_PX = 0.1, NUDGE_PX = 0.5, MOST = 24;
const photo = { w: Number(form?.dataset.width), h: Number(form?.dataset.height) };
const view = { x: 0, y: 0, k: 1 };
let walls = [], chosen = 0, active = "show";

function make(name, parent, attributes = {}) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  parent.append(made);
  return made;
}

function field(row, end) { return row.querySelector(`[name$="-${end}"]`); }

function wallOf(row) {
  const inputs = Object.fromEntries(["show-x", "show-y", "transfer-x", "transfer-y", "zoom", "out"].map((end) => [end, field(row, end)]));
  const wall = { name: row.dataset.wall, inputs, zooms: {}, was: {} };
  for (const end of ["show", "transfer"]) wall[end] = wall.was[end] = { x: Number(inputs[`${end}-x`].value), y: Number(inputs[`${end}-y`].value) };
  wall.wasZoom = inputs.zoom.value;
  const group = make("g", document.getElementById("lines"), { class: "wall" });
  wall.parts = ["casing", "line"].map((kind) => make("line", group, { class: kind }));
  wall.ends = ["show", "transfer"].map(() => make("circle", group, { class: "end" }));
  wall.hit = make("line", group, { class: "hit" });
  wall.group = group;
  return wall;
}

function changed(wall) {
  return wall.inputs.out.checked || ["show", "transfer"].some((end) => wall[end].x !== wall.was[end].x || wall[end].y !== wall.was[end].y);
}

function setLine(line, a, b) {
  line.setAttribute("x1", a.x); line.setAttribute("y1", a.y); line.setAttribute("x2", b.x); line.setAttribute("y2", b.y);
}

function along(wall) {
  const length = Math.hypot(wall.transfer.x - wall.show.x, wall.transfer.y - wall.show.y) || 1;
  return { x: (wall.transfer.x - wall.show.x) / length, y: (wall.transfer.y - wall.show.y) / length, length };
}

// A grip lies beyond its end, in the line's direction, so that no finger hides the edge.
function gripAt(wall, end) {
  const way = along(wall), aside = (end === "show" ? -ASIDE_PX : ASIDE_PX) / view.k;
  return { x: wall[end].x + way.x * aside, y: wall[end].y + way.y * aside };
}

function makeGrip(end) {
  const grip = make("g", document.getElementById("grips"), { class: "grip", tabindex: "0", role: "slider", "data-end": end, "aria-valuemin": 0, "aria-valuemax": photo.w });
  grip.stem = make("line", grip, { class: "stem" });
  grip.ring = make("circle", grip, { class: "ring" });
  grip.dot = make("circle", grip, { class: "dot" });
  grip.addEventListener("focus", () => { active = end; draw(); });
  grip.addEventListener("keydown", moveByKey);
  return grip;
}
const grips = {};

function drawGrip(wall, end) {
  const grip = grips[end], at = gripAt(wall, end);
  setLine(grip.stem, wall[end], at);
  for (const circle of [grip.ring, grip.dot]) { circle.setAttribute("cx", at.x); circle.setAttribute("cy", at.y); }
  grip.ring.setAttribute("r", GRIP_PX / view.k);
  grip.dot.setAttribute("r", 4 / view.k);
  grip.classList.toggle("active", end === active);
  const words = form.dataset[end === "show" ? "endShow" : "endTransfer"].replace("{wall}", wall.name);
  grip.setAttribute("aria-label", words);
  grip.setAttribute("aria-valuenow", wall[end].x.toFixed(1));
  grip.setAttribute("aria-valuetext", form.dataset.place.replace("{x}", wall[end].x.toFixed(1)).replace("{y}", wall[end].y.toFixed(1)));
}

function drawWall(wall, index) {
  for (const line of [...wall.parts, wall.hit]) setLine(line, wall.show, wall.transfer);
  wall.ends.forEach((circle, number) => {
    const end = number ? wall.transfer : wall.show;
    circle.setAttribute("cx", end.x); circle.setAttribute("cy", end.y); circle.setAttribute("r", 5 / view.k);
  });
  wall.group.classList.toggle("chosen", index === chosen);
  wall.group.classList.toggle("changed", changed(wall));
  wall.group.classList.toggle("out", wall.inputs.out.checked);
}

function drawLoupe() {
  const end = walls[chosen][active], side = loupe.clientWidth || 144, k = view.k * LOUPE_TIMES;
  const shown = Math.max(k, 6);
  loupe.setAttribute("viewBox", `${end.x - side / 2 / shown} ${end.y - side / 2 / shown} ${side / shown} ${side / shown}`);
  const box = stage.getBoundingClientRect(), at = gripAt(walls[chosen], active);
  loupe.classList.toggle("right", (at.x - view.x) * view.k < box.width / 2);
}

function tell() {
  const wall = walls[chosen], count = walls.filter(changed).length;
  document.getElementById("which").textContent = wall.name;
  form.querySelector("[type=submit]").disabled = count === 0;
  document.getElementById("changed").textContent = count === 0 ? form.dataset.none : count === 1 ? form.dataset.one : form.dataset.many.replace("{count}", count);
  form.querySelector("[data-do=out]").setAttribute("aria-pressed", String(wall.inputs.out.checked));
  const upright = Math.abs(along(wall).y) >= Math.abs(along(wall).x);
  for (const [doing, word, sign] of [["less", upright ? "left" : "up", upright ? "◂" : "▴"], ["more", upright ? "right" : "down", upright ? "▸" : "▾"]]) {
    const button = form.querySelector(`[data-do=${doing}]`);
    button.setAttribute("aria-label", form.dataset[word]);
    button.firstElementChild.textContent = sign;
  }
}

function draw() {
  const box = stage.getBoundingClientRect();
  stage.setAttribute("viewBox", `${view.x} ${view.y} ${box.width / view.k} ${box.height / view.k}`);
  walls.forEach(drawWall);
  for (const end of ["show", "transfer"]) drawGrip(walls[chosen], end);
  drawLoupe();
  tell();
}

function place(end, x, y) {
  const wall = walls[chosen];
  wall[end] = { x: Math.min(Math.max(x, 0), photo.w - 1), y: Math.min(Math.max(y, 0), photo.h - 1) };
  wall[end] = { x: Number(wall[end].x.toFixed(2)), y: Number(wall[end].y.toFixed(2)) };
  wall.zooms[end] = view.k;
  wall.inputs[`${end}-x`].value = wall[end].x.toFixed(2);
  wall.inputs[`${end}-y`].value = wall[end].y.toFixed(2);
  wall.inputs.zoom.value = Math.max(0.02, Math.min(...Object.values(wall.zooms))).toPrecision(4);
  draw();
}

function moveByKey(event) {
  const step = event.shiftKey ? FINE_PX : STEP_PX;
  const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
  if (!by) return;
  event.preventDefault();
  const end = event.currentTarget.dataset.end, from = walls[chosen][end];
  place(end, from.x + by[0], from.y + by[1]);
}

function nudge(by) {
  const wall = walls[chosen], from = wall[active], upright = Math.abs(along(wall).y) >= Math.abs(along(wall).x);
  place(active, from.x + (upright ? by : 0), from.y + (upright ? 0 : by));
}

function lookAt(x, y, k) {
  const box = stage.getBoundingClientRect();
  view.k = Math.min(MOST, Math.max(Math.min(box.width / photo.w, box.height / photo.h), k));
  view.x = x - box.width / view.k / 2;
  view.y = y - box.height / view.k / 2;
  draw();
}

function middle() {
  const box = stage.getBoundingClientRect();
  return { x: view.x + box.width / view.k / 2, y: view.y + box.height / view.k / 2 };
}

function lookAtAll() {
  const xs = walls.flatMap((wall) => [wall.show.x, wall.transfer.x]), ys = walls.flatMap((wall) => [wall.show.y, wall.transfer.y]);
  const box = stage.getBoundingClientRect(), [left, right, top, low] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  lookAt((left + right) / 2, (top + low) / 2, Math.min(box.width / (right - left + 1) / 1.3, box.height / (low - top + 1) / 1.6));
}

function lookAtWall() {
  const box = stage.getBoundingClientRect(), wall = walls[chosen], way = along(wall);
  const room = Math.min((box.height - 4 * ASIDE_PX) / Math.max(Math.abs(way.y), 0.05), (box.width - 4 * ASIDE_PX) / Math.max(Math.abs(way.x), 0.05));
  lookAt((wall.show.x + wall.transfer.x) / 2, (wall.show.y + wall.transfer.y) / 2, room / way.length);
}

function lookAtEnd(end) {
  active = end;
  loupe.removeAttribute("hidden");
  stage.scrollIntoView({ block: "nearest" });
  const at = walls[chosen][end];
  lookAt(at.x, at.y, Math.max(view.k, 5));
}

function choose(index) {
  chosen = (index + walls.length) % walls.length;
  loupe.removeAttribute("hidden");
  stage.scrollIntoView({ block: "nearest" });
  lookAtWall();
}

function putBack() {
  const wall = walls[chosen];
  for (const end of ["show", "transfer"]) {
    wall[end] = wall.was[end];
    wall.inputs[`${end}-x`].value = wall[end].x.toFixed(2);
    wall.inputs[`${end}-y`].value = wall[end].y.toFixed(2);
  }
  wall.zooms = {};
  wall.inputs.zoom.value = wall.wasZoom;
  wall.inputs.out.checked = false;
  draw();
}

function larger(by) { const at = middle(); lookAt(at.x, at.y, view.k * by); }

const DOES = {
  before: () => choose(chosen - 1), next: () => choose(chosen + 1), whole: lookAtAll, back: putBack,
  show: () => lookAtEnd("show"), transfer: () => lookAtEnd("transfer"),
  smaller: () => larger(1 / 1.6), larger: () => larger(1.6), less: () => nudge(-NUDGE_PX), more: () => nudge(NUDGE_PX),
  out: () => { const tick = walls[chosen].inputs.out; tick.checked = !tick.checked; draw(); },
};

// One finger drags a grip or the photo; two fingers enlarge it.
const fingers = new Map();
let dragged = null, pinched = null;

function atPhoto(event) {
  const box = stage.getBoundingClientRect();
  return { x: view.x + (event.clientX - box.left) / view.k, y: view.y + (event.clientY - box.top) / view.k };
}

function take(event) {
  event.preventDefault();
  stage.setPointerCapture(event.pointerId);
  fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
  const grip = event.target.closest(".grip"), hit = event.target.closest(".wall");
  if (fingers.size > 1) { dragged = null; pinched = between(); return; }
  if (grip) {
    const end = grip.dataset.end, at = atPhoto(event), from = walls[chosen][end];
    active = end;
    dragged = { end, dx: from.x - at.x, dy: from.y - at.y };
    loupe.removeAttribute("hidden");
    grip.focus({ preventScroll: true });
    draw();
  } else if (hit) {
    chosen = walls.findIndex((wall) => wall.group === hit);
    loupe.removeAttribute("hidden");
    draw();
  }
}

function between() {
  const [a, b] = [...fingers.values()];
  return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, apart: Math.hypot(a.x - b.x, a.y - b.y) || 1 };
}

// What lies at that place of the screen stays there.
function zoomAbout(clientX, clientY, by) {
  const at = atPhoto({ clientX, clientY }), k = view.k, box = stage.getBoundingClientRect();
  view.k = Math.min(MOST, Math.max(Math.min(box.width / photo.w, box.height / photo.h), k * by));
  view.x = at.x - (at.x - view.x) * k / view.k;
  view.y = at.y - (at.y - view.y) * k / view.k;
  draw();
}

function move(event) {
  const before = fingers.get(event.pointerId);
  if (!before) return;
  fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
  if (dragged) {
    const at = atPhoto(event);
    place(dragged.end, at.x + dragged.dx, at.y + dragged.dy);
  } else if (fingers.size === 1) {
    view.x -= (event.clientX - before.x) / view.k;
    view.y -= (event.clientY - before.y) / view.k;
    draw();
  } else {
    const now = between();
    view.x -= (now.x - pinched.x) / view.k;
    view.y -= (now.y - pinched.y) / view.k;
    zoomAbout(now.x, now.y, now.apart / pinched.apart);
    pinched = now;
  }
}

function letGo(event) { fingers.delete(event.pointerId); dragged = null; }

function wheel(event) {
  event.preventDefault();
  zoomAbout(event.clientX, event.clientY, Math.exp(-event.deltaY / 400));
}

function typed() {
  for (const wall of walls) for (const end of ["show", "transfer"]) wall[end] = { x: Number(wall.inputs[`${end}-x`].value) || 0, y: Number(wall.inputs[`${end}-y`].value) || 0 };
  draw();
}

// What was changed and not sent is kept in this tab when the page is left, for as long as the lines to correct are the same.
const DRAFT = `tailproof-lines-${document.body.dataset.person}-${form?.action}`;
const named = () => [...form.elements].filter((each) => each.name);
const linesToCorrect = () => named().filter((each) => each.type !== "hidden").map((each) => each.defaultValue).join(" ");
let taken = false;

function keepDraft() {
  const begun = !taken && (walls.some(changed) || form.elements.why.value.trim());
  const values = named().map((each) => (each.type === "checkbox" ? each.checked : each.value));
  if (begun) sessionStorage.setItem(DRAFT, JSON.stringify({ of: linesToCorrect(), values }));
  else sessionStorage.removeItem(DRAFT);
}

function restoreDraft() {
  const draft = JSON.parse(sessionStorage.getItem(DRAFT));
  if (draft?.of !== linesToCorrect()) return;
  named().forEach((each, index) => { each[each.type === "checkbox" ? "checked" : "value"] = draft.values[index]; });
  typed();
  document.getElementById("draft").hidden = false;
}

if (form) {
  document.getElementById("bench").hidden = false;
  document.getElementById("numbers").open = false;
  walls = [...form.querySelectorAll("tr[data-wall]")].map(wallOf);
  for (const end of ["show", "transfer"]) grips[end] = makeGrip(end);
  form.addEventListener("click", (event) => { const button = event.target.closest("[data-do]"); if (button) DOES[button.dataset.do](); });
  document.getElementById("numbers").addEventListener("input", typed);
  stage.addEventListener("pointerdown", take);
  stage.addEventListener("pointermove", move);
  for (const end of ["pointerup", "pointercancel"]) stage.addEventListener(end, letGo);
  stage.addEventListener("wheel", wheel, { passive: false });
  new ResizeObserver(draw).observe(stage);
  lookAtAll();
  restoreDraft();
  form.addEventListener("taken", () => { taken = true; });
  window.addEventListener("pagehide", keepDraft);
  document.addEventListener("visibilitychange", () => { if (document.hidden) keepDraft(); });
}
