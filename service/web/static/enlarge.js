// A picture in a frame that scrolls: enlarged by buttons, or by two fingers about what lies between them. `matters` gives
// the place that buttons enlarge about, in parts of the picture; without it, or out of sight, it is the frame's middle.
export function enlargeable(frame, picture, most, matters = () => null) {
  let size = 1, before = null;

  function middle() {
    const box = frame.getBoundingClientRect(), all = picture.getBoundingClientRect(), part = matters();
    const at = part && { x: all.left + part.x * all.width, y: all.top + part.y * all.height };
    if (at && at.x > box.left && at.x < box.right && at.y > box.top && at.y < box.bottom) return at;
    return { x: box.left + box.width / 2, y: box.top + box.height / 2 };
  }

  // What lies at that place of the screen stays there; where the frame itself grows, the page moves.
  function enlarge(by, at = middle()) {
    const was = picture.getBoundingClientRect(), across = (at.x - was.left) / was.width, down = (at.y - was.top) / was.height;
    size = Math.min(most, Math.max(1, size * by));
    frame.classList.toggle("larger", size > 1);
    picture.style.width = size > 1 ? `${100 * size}%` : "";
    for (const scrolled of [frame, document.scrollingElement]) {
      const now = picture.getBoundingClientRect();
      scrolled.scrollLeft += now.left + across * now.width - at.x;
      scrolled.scrollTop += now.top + down * now.height - at.y;
    }
  }

  function fingers({ touches: [a, b, ...others] }) {
    if (!b || others.length) return null;
    return { x: (a.clientX + b.clientX) / 2, y: (a.clientY + b.clientY) / 2, apart: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY) || 1 };
  }

  function pinch(event) {
    const now = fingers(event);
    if (!now || !before) return;
    event.preventDefault();
    frame.scrollLeft -= now.x - before.x;
    frame.scrollTop -= now.y - before.y;
    enlarge(now.apart / before.apart, now);
    before = now;
  }

  for (const moment of ["touchstart", "touchend", "touchcancel"]) frame.addEventListener(moment, (event) => { before = fingers(event); }, { passive: true });
  frame.addEventListener("touchmove", pinch, { passive: false });
  return enlarge;
}
