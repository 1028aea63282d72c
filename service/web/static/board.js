// The answer appears by itself: the page asks how far its photos are and shows itself anew when that changes.
import { enlargeable } from "./enlarge.js";

const answer = document.getElementById("answer");

async function look() {
  try {
    const reply = await fetch(`/api/v1/boards/${answer.dataset.board}`, { headers: { accept: "application/json" } });
    if (reply.ok) {
      const board = await reply.json();
      const photos = board.checks.map((check) => `${check.id}:${check.state}`).reverse().join(" ");
      const state = board.together && answer.dataset.together ? `${photos} ${board.together.state}` : photos;
      if (state !== answer.dataset.state) { location.reload(); return; }
    }
  } catch { /* no network for a moment: ask again */ }
  setTimeout(look, 700);
}
if ("waits" in answer.dataset) setTimeout(look, 400);

// The drawing is enlarged, and shown whole again, by a tap or the Enter key.
const TAPPED = 3;
for (const frame of document.querySelectorAll(".drawing")) {
  const enlarge = enlargeable(frame, frame.querySelector("img"), TAPPED);
  const turn = (at) => enlarge(frame.classList.contains("larger") ? 1 / TAPPED : TAPPED, at);
  frame.addEventListener("click", (event) => turn({ x: event.clientX, y: event.clientY }));
  frame.addEventListener("keydown", (event) => { if (event.key === "Enter") turn(); });
}

// That the photo was known already is said once.
const here = new URL(location.href);
if (here.searchParams.has("known") && !("waits" in answer.dataset)) { // a page that waits is loaded once more
  here.searchParams.delete("known");
  history.replaceState(null, "", here);
}

// The photo can be enlarged by buttons or two fingers; a finger or the scroll bars move it.
for (const zoom of document.querySelectorAll("[data-zoom]")) {
  const enlarge = enlargeable(zoom.querySelector(".pan"), zoom.querySelector(".pan img"), 16);
  zoom.addEventListener("click", (event) => { if (event.target.dataset.by) enlarge(Number(event.target.dataset.by)); });
}
