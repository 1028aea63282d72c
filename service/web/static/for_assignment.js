// The wood and the plan of the assignment that is chosen are offered for the board; what is typed stays. What is said
// of the board stands in one line above the fields, which are mostly folded away.
"use strict";
const choice = document.getElementById("assignment");

function offer(name, value) {
  const field = document.getElementById(name);
  if (field && value && field.dataset.typed === undefined) field.value = value;
}

function offerAll() {
  const { species, plan } = choice.selectedOptions[0].dataset;
  offer("species", species);
  offer("plan", plan);
  sumUp();
}

function sumUp() {
  const fields = ["species", "saw", "plan", "print"].map((name) => document.getElementById(name));
  const told = fields.map((field) => (field ? field.value.trim() : "")).filter(Boolean);
  document.getElementById("more-said").textContent = told.length ? `: ${told.join(", ")}` : "";
}

if (choice) {
  for (const name of ["species", "plan"]) {
    const field = document.getElementById(name);
    if (field) field.addEventListener("input", () => { field.dataset.typed = ""; });
  }
  choice.addEventListener("change", offerAll);
  offerAll();
}
document.getElementById("send").addEventListener("input", sumUp);
