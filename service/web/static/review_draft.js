// What was begun on a board is kept in this tab until it is saved, so that looking at the next board loses nothing.
export function keepDraft(form, marksNow, put, say) {
  const key = `tailproof-review-${form.dataset.board}`;
  const remarks = form.elements.remarks;

  function restore(draft) {
    remarks.value = draft.remarks;
    if (draft.decision) form.elements.decision.value = draft.decision;
    if (draft.picture === form.dataset.picture) for (const mark of draft.marks) put(...mark);
    say(form.dataset.draft);
  }

  function keep() {
    const draft = { remarks: remarks.value, decision: form.elements.decision.value, marks: marksNow(), picture: form.dataset.picture };
    if (draft.remarks || draft.decision || draft.marks.length) sessionStorage.setItem(key, JSON.stringify(draft));
    else sessionStorage.removeItem(key);
  }

  const typed = remarks.value || form.elements.decision.value || marksNow().length;
  const kept = sessionStorage.getItem(key);
  if (kept && !typed) restore(JSON.parse(kept));
  form.addEventListener("input", keep);
  form.addEventListener("submit", () => sessionStorage.removeItem(key));
}
