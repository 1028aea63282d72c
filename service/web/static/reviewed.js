// A review shows itself on the student's page: the page asks now and then whether there is a new one, and offers it.
"use strict";
const news = document.getElementById("review-news");
const EVERY_MS = 6000;

async function ask() {
  if (!document.hidden) {
    try {
      const reply = await fetch(`/api/v1/boards/${news.dataset.board}/reviews`, { headers: { accept: "application/json" } });
      if (reply.ok) {
        const reviews = await reply.json();
        news.hidden = (reviews.length ? reviews[0].id : "") === news.dataset.latest;
      }
    } catch { /* no network for a moment: ask again */ }
  }
  if (news.hidden) setTimeout(ask, EVERY_MS);
}
if (news) setTimeout(ask, EVERY_MS);
