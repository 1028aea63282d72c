// Moments are written in UTC, since the service does not know where its people are; their browsers do.
"use strict";
const momentHere = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" });
for (const each of document.querySelectorAll("time[datetime]")) each.textContent = momentHere.format(new Date(each.dateTime));
