// The wood and the plan of the assignment that is chosen are offered for the board; what is typed stays.
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
}

if (choice) {
  for (const name of ["species", "plan"]) {
    const field = document.getElementById(name);
    if (field) field.addEventListener("input", () => { field.dataset.typed = ""; });
  }
  choice.addEventListener("change", offerAll);
  offerAll();
}
