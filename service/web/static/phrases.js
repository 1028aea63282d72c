// Remarks to say again: a button puts one into the field that was written in last, another keeps what stands there.
export function offerPhrases(form, say) {
  const list = document.getElementById("phrase-list");
  const keep = document.getElementById("keep");
  let field = form.elements.remarks;

  function use(text) {
    const between = field.value ? (field.name === "remarks" ? "\n" : " ") : "";
    field.value += between + text;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.focus();
  }

  function offer(text) {
    const item = document.createElement("li"), button = document.createElement("button");
    button.type = "button";
    button.dataset.phrase = "";
    button.textContent = text;
    item.append(button);
    list.append(item);
  }

  async function keepIt() {
    const headers = { "content-type": "application/json", accept: "application/json" };
    const known = [...list.querySelectorAll("button")].map((button) => button.textContent.toLowerCase());
    try {
      const body = JSON.stringify({ text: field.value.split(/\s+/).filter(Boolean).join(" ") });
      const reply = await fetch("/api/v1/remarks", { method: "POST", headers, body });
      if (!reply.ok) throw new Error(reply.status);
      const { text } = await reply.json();
      if (!known.includes(text.toLowerCase())) offer(text);
      say(form.dataset.kept);
    } catch { say(form.dataset.notKept); }
  }

  form.addEventListener("focusin", (event) => {
    if (event.target.matches("[name=comment], [name=remarks]")) field = event.target;
  });
  list.addEventListener("click", (event) => {
    if (event.target.matches("[data-phrase]")) use(event.target.textContent);
  });
  keep.hidden = false;
  keep.addEventListener("click", keepIt);
}
