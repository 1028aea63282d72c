// The next board by the right arrow key or a swipe to the left, the one before by the left arrow or a swipe to the right.
"use strict";
const BUSY = "input, textarea, select, .spot, .scroll, .strip, .pan.larger";
const FAR_PX = 80, STEEP = 2.5, SLOW_MS = 900;

function go(rel) {
  const link = document.querySelector(`a[rel=${rel}]`);
  if (link) location.assign(link.href);
}

document.addEventListener("keydown", (event) => {
  if (event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
  if (event.target.closest(BUSY)) return;
  if (event.key === "ArrowRight") go("next");
  if (event.key === "ArrowLeft") go("prev");
});

let begun = null;
document.addEventListener("touchstart", (event) => {
  const zoomed = window.visualViewport && window.visualViewport.scale > 1.05;
  const [touch] = event.touches;
  begun = event.touches.length === 1 && !zoomed && !event.target.closest(BUSY) ? { x: touch.clientX, y: touch.clientY, at: event.timeStamp } : null;
}, { passive: true });
document.addEventListener("touchend", (event) => {
  if (!begun) return;
  const [touch] = event.changedTouches, dx = touch.clientX - begun.x, dy = touch.clientY - begun.y;
  const quick = event.timeStamp - begun.at < SLOW_MS;
  begun = null;
  if (quick && Math.abs(dx) > FAR_PX && Math.abs(dx) > STEEP * Math.abs(dy)) go(dx < 0 ? "next" : "prev");
}, { passive: true });
