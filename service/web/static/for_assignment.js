// The wood and the plan of the assignment that is chosen are offered for the board, and taken back when another choice
// is made; what is typed stays. What is said of the board stands in one line above the fields, which are mostly folded
// away.
"use strict";
const choice = document.getElementById("assignment");
const offered = ["species", "plan"].map((name) => document.getElementById(name)).filter(Boolean);

function offerAll() {
  const wanted = choice.selectedOptions[0].dataset;
  for (const field of offered) if (field.dataset.typed === undefined) field.value = wanted[field.id] || field.dataset.own;
  sumUp();
}

function sumUp() {
  const fields = ["species", "saw", "plan", "print"].map((name) => document.getElementById(name));
  const told = fields.map((field) => (field ? field.value.trim() : "")).filter(Boolean);
  document.getElementById("more-said").textContent = told.length ? `: ${told.join(", ")}` : "";
}

if (choice) {
  for (const field of offered) {
    field.dataset.own = field.value; // as it is without any assignment
    field.addEventListener("input", () => { field.dataset.typed = ""; });
  }
  choice.addEventListener("change", offerAll);
  offerAll();
}
document.getElementById("send").addEventListener("input", sumUp);
