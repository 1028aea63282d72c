// What was begun on a board is kept in this tab until the service has taken it, so that looking at the next board or at
// another picture loses nothing. Every picture has its own marks; a review has those of one.
export function keepDraft(form, marksNow, put, say) {
  const key = `tailproof-review-${document.body.dataset.person}-${form.dataset.board}`;
  const remarks = form.elements.remarks, elsewhere = document.getElementById("elsewhere");
  const { picture, pictures } = form.dataset;
  let told = form.dataset.draft;
  let draft = { remarks: "", decision: "", marks: {}, ...JSON.parse(sessionStorage.getItem(key)) };

  function restore() {
    const marks = draft.marks[picture] || [];
    if (!(draft.remarks || draft.decision || marks.length)) return;
    remarks.value = draft.remarks;
    if (draft.decision) form.elements.decision.value = draft.decision;
    for (const mark of marks) put(...mark);
    say(told);
  }

  function store(next) {
    draft = next;
    const begun = draft.remarks || draft.decision || Object.keys(draft.marks).length;
    if (begun) sessionStorage.setItem(key, JSON.stringify(draft));
    else sessionStorage.removeItem(key);
  }

  function keep() {
    const marks = { ...draft.marks, [picture]: marksNow() };
    if (!marks[picture].length) delete marks[picture];
    store({ remarks: remarks.value, decision: form.elements.decision.value, marks });
  }

  // The service has it: what stays begun is what lies on other pictures.
  function forget() {
    const { [picture]: taken, ...marks } = draft.marks;
    store({ remarks: "", decision: "", marks });
  }

  // Marks on the board's other pictures are not sent with those on this one: that is said before it is saved.
  function tellOthers() {
    const others = pictures.split(" ").filter((name) => name && name !== picture);
    const count = others.reduce((sum, name) => sum + (draft.marks[name] || []).length, 0);
    elsewhere.textContent = count ? form.dataset[count === 1 ? "elsewhereOne" : "elsewhere"].replace("{count}", count) : "";
  }

  // Marks on a picture that a new one has taken the place of are looked through on this one.
  function takeOver() {
    const there = pictures.split(" "), gone = Object.keys(draft.marks).filter((name) => !there.includes(name));
    if (!picture || !gone.length) return;
    const marks = { ...draft.marks, [picture]: [...(draft.marks[picture] || []), ...gone.flatMap((name) => draft.marks[name])] };
    for (const name of gone) delete marks[name];
    store({ ...draft, marks });
    told = form.dataset.moved;
  }

  takeOver();
  if (marksNow().length === 0) restore();
  tellOthers();
  form.addEventListener("input", keep);
  form.addEventListener("taken", forget);
}
