// The charts of one number, drawn from the table that holds the same numbers: what is seen and what is read are one.
"use strict";
const table = document.getElementById("points");
const MOST_BARS = 60; // more upright bars of uncertainty would be a blur
const HEIGHT = 260;

const optional = (text) => (text === undefined ? null : Number(text));
const rows = [...table.tBodies[0].rows].map((row) => ({
  value: Number(row.dataset.value), u: Number(row.dataset.u),
  average: optional(row.dataset.average), low: optional(row.dataset.low), high: optional(row.dataset.high),
  link: row.cells[0].querySelector("a"), day: row.cells[1].textContent, text: row.cells[2].textContent,
  signal: row.cells[5].textContent.trim(), ends: "ends" in row.dataset,
}));
const level = (name) => optional(table.dataset[name]);
const column = (name) => rows.map((row) => row[name]);
const across = (name) => rows.map(() => level(name));
const order = rows.map((_, index) => index);

function colours() {
  const style = getComputedStyle(table);
  const of = (name) => style.getPropertyValue(`--${name}`).trim();
  return { ink: of("ink"), muted: of("muted"), line: of("line"), main: of("accent"), second: of("chart-second"),
    signal: of("danger"), sheet: of("sheet") };
}

function lowestAndHighest(all) {
  const numbers = all.flat().filter((number) => number !== null && Number.isFinite(number));
  const low = Math.min(...numbers), high = Math.max(...numbers);
  const room = (high - low || Math.abs(high) || 1) * 0.08;
  return [low >= 0 ? Math.max(0, low - room) : low - room, high + room];
}

// What uPlot does not draw by itself: bars of uncertainty, squares along a signal and a diamond at its end, and a name at every level line.
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

function diamonds(u, tone) {
  const { ctx } = u, reach = 8 * devicePixelRatio, half = 3.5 * devicePixelRatio;
  ctx.setLineDash([]);
  ctx.strokeStyle = ctx.fillStyle = tone.signal; ctx.lineWidth = 2 * devicePixelRatio;
  rows.forEach((row, index) => {
    if (!row.signal) return;
    const x = u.valToPos(index, "x", true), y = u.valToPos(row.value, "y", true);
    ctx.fillRect(x - half, y - half, 2 * half, 2 * half);
    if (!row.ends) return;
    ctx.beginPath();
    ctx.moveTo(x, y - reach); ctx.lineTo(x + reach, y); ctx.lineTo(x, y + reach); ctx.lineTo(x - reach, y);
    ctx.closePath(); ctx.stroke();
  });
}

function names(u, tone, levels) {
  const { ctx, bbox } = u;
  ctx.font = `${12 * devicePixelRatio}px system-ui, sans-serif`;
  ctx.textAlign = "right"; ctx.textBaseline = "bottom";
  for (const name of levels) {
    if (level(name) === null) continue;
    const words = table.dataset[`${name}Name`], y = u.valToPos(level(name), "y", true) - 2 * devicePixelRatio;
    const x = bbox.left + bbox.width - 4 * devicePixelRatio, width = ctx.measureText(words).width;
    ctx.globalAlpha = 0.85; ctx.fillStyle = tone.sheet;
    ctx.fillRect(x - width - 2, y - 14 * devicePixelRatio, width + 4, 14 * devicePixelRatio);
    ctx.globalAlpha = 1; ctx.fillStyle = tone.ink;
    ctx.fillText(words, x, y);
  }
}

const dashed = (tone) => ({ stroke: tone.ink, width: 1.5, dash: [7, 5], points: { show: false } });
const solid = (tone) => ({ stroke: tone.muted, width: 1.5, points: { show: false } });
const faint = (tone) => ({ stroke: tone.line, width: 1, dash: [2, 4], points: { show: false } });
const dots = (tone) => ({ stroke: tone.main, width: 1.5, points: { show: true, size: 7, fill: tone.main, stroke: tone.sheet } });

const KINDS = {
  run: (tone) => ({
    data: [column("value"), across("median")], series: [dots(tone), solid(tone)],
    under: () => {}, over: (u) => names(u, tone, ["median"]),
  }),
  control: (tone) => ({
    data: [column("value"), ...["centre", "upper", "lower", "zoneAbove-1", "zoneAbove-2", "zoneBelow-1", "zoneBelow-2"].map(across)],
    series: [dots(tone), solid(tone), dashed(tone), dashed(tone), faint(tone), faint(tone), faint(tone), faint(tone)],
    under: (u) => bars(u, tone), over: (u) => { diamonds(u, tone); names(u, tone, ["centre", "upper", "lower"]); },
    bounds: rows.length > MOST_BARS ? [] : [rows.map((row) => row.value - row.u), rows.map((row) => row.value + row.u)],
  }),
  moving: (tone) => ({
    data: [column("average"), across("centre"), column("high"), column("low")],
    series: [{ ...dots(tone), stroke: tone.second, width: 2.5, points: { show: false } }, solid(tone), dashed(tone), dashed(tone)],
    under: () => {}, over: (u) => names(u, tone, ["centre"]),
  }),
};

function draw(place) {
  const tone = colours(), kind = KINDS[place.dataset.kind](tone);
  const axis = { stroke: tone.muted, grid: { stroke: tone.line, width: 0.6 }, ticks: { show: false }, font: "13px system-ui, sans-serif" };
  const day = (index) => (Number.isInteger(index) && rows[index] ? rows[index].day : "");
  place.replaceChildren();
  return new uPlot({
    width: place.clientWidth, height: HEIGHT, legend: { show: false }, padding: [14, 10, 0, 0],
    cursor: { y: false, drag: { x: false, y: false }, points: { size: 11, fill: tone.sheet, stroke: tone.ink, width: 2 } },
    scales: { x: { time: false, range: [-0.5, rows.length - 0.5] }, y: { range: lowestAndHighest([...kind.data, ...(kind.bounds || [])]) } },
    axes: [{ ...axis, space: 110, incrs: [1, 2, 5, 10, 20, 50, 100, 200, 500], values: (_, splits) => splits.map(day) }, { ...axis, size: 54 }],
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
