// The charts of one number, drawn from the table that holds the same numbers: what is seen and what is read are one.
"use strict";
const table = document.getElementById("points");
const MOST_BARS = 60; // more upright bars of uncertainty would be a blur
const CLOSE_PX = 6; // closer than that, points and the rings about some of them would hide the line and one another
const HEIGHT = 260;
const NAME_FONT = "system-ui, sans-serif", NAME_PX = 12, NAME_LINE_PX = 14, NAME_GAP_PX = 6;
const AXIS_PX = 54, DAY_PX = 110; // the widest day under the axis, and a little room
const NAMED = ["centre", "upper", "lower", "median"];

const optional = (text) => (text === undefined ? null : Number(text));
const rows = [...table.tBodies[0].rows].map((row) => ({
  value: Number(row.dataset.value), u: Number(row.dataset.u),
  average: optional(row.dataset.average), low: optional(row.dataset.low), high: optional(row.dataset.high),
  link: row.cells[0].querySelector("a"), day: row.cells[1].textContent, text: row.cells[2].textContent,
  signal: row.cells[5].textContent.trim(), good: row.dataset.good, ends: "ends" in row.dataset,
}));
const level = (name) => optional(table.dataset[name]);
const column = (name) => rows.map((row) => row[name]);
const across = (name) => rows.map(() => level(name));
const order = rows.map((_, index) => index);

function colours() {
  const style = getComputedStyle(table);
  const of = (name) => style.getPropertyValue(`--${name}`).trim();
  return { ink: of("ink"), muted: of("muted"), line: of("line"), main: of("accent"), second: of("chart-second"),
    worse: of("danger"), better: of("chart-better"), sheet: of("sheet") };
}

function lowestAndHighest(all) {
  const numbers = all.flat().filter((number) => number !== null && Number.isFinite(number));
  const low = Math.min(...numbers), high = Math.max(...numbers);
  const room = (high - low || Math.abs(high) || 1) * 0.08;
  return [low >= 0 ? Math.max(0, low - room) : low - room, high + room];
}

const areClose = (u) => u.bbox.width / devicePixelRatio / rows.length < CLOSE_PX;

// What uPlot does not draw by itself: bars of uncertainty, marks along a signal and at its end, and a name beside every level line.
function bars(u, tone) {
  if (rows.length > MOST_BARS) return;
  const { ctx } = u;
  ctx.setLineDash([]);
  ctx.strokeStyle = tone.muted; ctx.lineWidth = devicePixelRatio;
  rows.forEach((row, index) => {
    if (!row.u) return;
    const x = u.valToPos(index, "x", true);
    ctx.beginPath();
    ctx.moveTo(x, u.valToPos(row.value - row.u, "y", true));
    ctx.lineTo(x, u.valToPos(row.value + row.u, "y", true));
    ctx.stroke();
  });
}

const disc = (ctx, x, y, radius) => ctx.arc(x, y, radius, 0, 2 * Math.PI);
const square = (ctx, x, y, half) => ctx.rect(x - half, y - half, 2 * half, 2 * half);
function diamond(ctx, x, y, reach) {
  ctx.moveTo(x, y - reach); ctx.lineTo(x + reach, y); ctx.lineTo(x, y + reach); ctx.lineTo(x - reach, y);
  ctx.closePath();
}

// Discs and a ring for the better; squares and a diamond for the worse, and in ink where neither is better. Where they
// would lie upon one another they are small, and nothing is drawn about the last.
function signals(u, tone) {
  const { ctx } = u, pixels = devicePixelRatio, close = areClose(u), [radius, half] = close ? [2, 1.75] : [4.5, 3.5];
  ctx.setLineDash([]);
  ctx.lineWidth = 2 * pixels;
  rows.forEach((row, index) => {
    if (!row.signal) return;
    const x = u.valToPos(index, "x", true), y = u.valToPos(row.value, "y", true), better = row.good === "better";
    ctx.strokeStyle = ctx.fillStyle = tone[row.good] || tone.ink;
    ctx.beginPath(); (better ? disc : square)(ctx, x, y, (better ? radius : half) * pixels); ctx.fill();
    if (!row.ends || close) return;
    ctx.beginPath(); (better ? disc : diamond)(ctx, x, y, 8 * pixels); ctx.stroke();
  });
}

const nameLines = (name) => table.dataset[`${name}Name`].split(" ");

// Room for the names at the right of the plot, where no point lies.
function nameRoom() {
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = `${NAME_PX}px ${NAME_FONT}`;
  return Math.ceil(Math.max(...NAMED.flatMap(nameLines).map((word) => pen.measureText(word).width))) + 2 * NAME_GAP_PX;
}

// The name of each line at its end, one word below the other; names that would meet are moved apart.
function names(u, tone, levels) {
  const { ctx, bbox } = u, line = NAME_LINE_PX * devicePixelRatio, x = bbox.left + bbox.width + NAME_GAP_PX * devicePixelRatio;
  ctx.font = `${NAME_PX * devicePixelRatio}px ${NAME_FONT}`;
  ctx.textAlign = "left"; ctx.textBaseline = "middle"; ctx.fillStyle = tone.ink;
  const placed = levels.filter((name) => level(name) !== null).map((name) => [u.valToPos(level(name), "y", true), nameLines(name)]);
  const lowest = bbox.top + bbox.height; // below it stand the days
  let free = -Infinity;
  for (const [y, words] of placed.sort(([a], [b]) => a - b)) {
    const top = Math.max(Math.min(y - (words.length * line) / 2, lowest - words.length * line), free);
    words.forEach((word, index) => ctx.fillText(word, x, top + (index + 0.5) * line));
    free = top + words.length * line;
  }
}

const dashed = (tone) => ({ stroke: tone.ink, width: 1.5, dash: [7, 5], points: { show: false } });
const solid = (tone) => ({ stroke: tone.muted, width: 1.5, points: { show: false } });
const faint = (tone) => ({ stroke: tone.line, width: 1, dash: [2, 4], points: { show: false } });
const dots = (tone) => ({ stroke: tone.main, width: 1.5, points: { show: (u) => !areClose(u), size: 7, fill: tone.main, stroke: tone.sheet } });

const KINDS = {
  run: (tone) => ({
    data: [column("value"), across("median")], series: [dots(tone), solid(tone)],
    under: () => {}, over: (u) => names(u, tone, ["median"]),
  }),
  control: (tone) => ({
    data: [column("value"), ...["centre", "upper", "lower", "zoneAbove-1", "zoneAbove-2", "zoneBelow-1", "zoneBelow-2"].map(across)],
    series: [dots(tone), solid(tone), dashed(tone), dashed(tone), faint(tone), faint(tone), faint(tone), faint(tone)],
    under: (u) => bars(u, tone), over: (u) => { signals(u, tone); names(u, tone, ["centre", "upper", "lower"]); },
    bounds: rows.length > MOST_BARS ? [] : [rows.map((row) => row.value - row.u), rows.map((row) => row.value + row.u)],
  }),
  moving: (tone) => ({
    data: [column("average"), across("centre"), column("high"), column("low")],
    series: [{ ...dots(tone), stroke: tone.second, width: 2.5, points: { show: false } }, solid(tone), dashed(tone), dashed(tone)],
    under: () => {}, over: (u) => names(u, tone, ["centre"]),
  }),
};

// The first board, the last, and as many evenly between them as have room for their day.
function shownDays(width) {
  const last = rows.length - 1, apart = Math.ceil((DAY_PX * rows.length) / width), pieces = Math.max(1, Math.floor(last / apart));
  return [...new Set(Array.from({ length: pieces + 1 }, (_, piece) => Math.round((piece * last) / pieces)))];
}

function draw(place) {
  const tone = colours(), kind = KINDS[place.dataset.kind](tone);
  const axis = { stroke: tone.muted, grid: { stroke: tone.line, width: 0.6 }, ticks: { show: false }, font: "13px system-ui, sans-serif" };
  const day = (index) => (Number.isInteger(index) && rows[index] ? rows[index].day : "");
  const room = nameRoom(), shown = () => shownDays(place.clientWidth - AXIS_PX - room);
  place.replaceChildren();
  return new uPlot({
    width: place.clientWidth, height: HEIGHT, legend: { show: false }, padding: [14, room, 0, 0],
    cursor: { y: false, drag: { x: false, y: false }, points: { size: 11, fill: tone.sheet, stroke: tone.ink, width: 2 } },
    scales: { x: { time: false, range: [-0.5, rows.length - 0.5] }, y: { range: lowestAndHighest([...kind.data, ...(kind.bounds || [])]) } },
    axes: [{ ...axis, splits: shown, values: (_, splits) => splits.map(day) }, { ...axis, size: AXIS_PX }],
    series: [{}, ...kind.series],
    hooks: { drawAxes: [kind.under], draw: [kind.over], setCursor: [(u) => say(u.cursor.idx)] },
  }, [order, ...kind.data], place);
}

// Which board a point is: said in words, with a link to it.
const said = document.getElementById("chart-said");
function say(index) {
  const row = rows[index];
  if (!row) return;
  const link = document.createElement("a");
  link.href = row.link.href;
  link.textContent = row.link.textContent;
  said.replaceChildren(`${row.day}: `, link, ` ${row.text} ${table.dataset.unit}. ${row.signal}`);
}

const places = [...document.querySelectorAll(".chart")];
let drawn = [];
function drawAll() {
  drawn.forEach((chart) => chart.destroy());
  drawn = rows.length ? places.map(draw) : [];
}
if (places.length) {
  drawAll();
  said.hidden = false;
  said.textContent = table.dataset.hint;
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawAll);
  new ResizeObserver(() => drawn.forEach((chart, index) => chart.setSize({ width: places[index].clientWidth, height: HEIGHT }))).observe(places[0]);
}
