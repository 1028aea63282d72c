// A form marked `data-stays` is sent without leaving its page: a mistake is told where it was made, and all that was
// typed stays. When it went well, the form is told by the event `taken`, and the page that the answer leads to is opened.
"use strict";
const stays = (() => {
  const { noAnswer, signIn } = document.getElementById("content").dataset;

  // The field of that name, when there is one to be seen, were its section open.
  function fieldOf(form, name) {
    const named = name ? form.elements.namedItem(name) : null;
    const field = named instanceof RadioNodeList ? named[0] : named;
    return field && field.closest(".field") && !field.closest("[hidden]") ? field : null;
  }

  function forget(form) {
    for (const line of form.querySelectorAll(".mistake")) line.remove();
    for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  }

  // The submit button, or the row that holds it.
  function lastPart(form) {
    const button = form.querySelector("[type=submit]"), row = button.closest(".row");
    if (row && form.contains(row)) return row;
    let part = button;
    while (part.parentElement !== form) part = part.parentElement;
    return part;
  }

  function lead(field) {
    field.setAttribute("aria-invalid", "true");
    for (let part = field.closest("details"); part; part = part.parentElement.closest("details")) part.open = true;
    field.focus({ preventScroll: true });
  }

  // Where one signs in, in a tab of its own: this one keeps what was typed.
  function wayIn() {
    const link = document.createElement("a");
    [link.href, link.target, link.textContent] = ["/sign-in", "_blank", signIn];
    return link;
  }

  // Say what an answer says is wrong: at the field that it names, else above the button.
  function tell(form, { field, message, what_to_do: whatToDo, status }) {
    forget(form);
    const wrong = fieldOf(form, field), line = document.createElement("p");
    line.className = "mistake";
    line.setAttribute("role", "alert");
    (wrong || lastPart(form)).before(line);
    line.textContent = [message || noAnswer, whatToDo].filter(Boolean).join(" ");
    if (status === 401 && signIn) line.append(" ", wayIn());
    if (wrong) lead(wrong);
    line.scrollIntoView({ block: "center" });
  }

  function bodyOf(form, button) {
    const data = new FormData(form);
    if (button.name) data.append(button.name, button.value);
    return form.enctype === "multipart/form-data" ? data : new URLSearchParams(data);
  }

  function leave(form, address) {
    form.reset(); // a browser fills what was typed into the page that it shows anew
    if (address === location.href.split("#")[0]) location.reload();
    else location.assign(address);
  }

  async function send(form, button) {
    const idle = (none) => { for (const each of form.querySelectorAll("[type=submit]")) each.disabled = !none; };
    idle(false);
    window.addEventListener("pagehide", () => idle(true)); // a page come back to can be used again
    try {
      const reply = await fetch(form.action, { method: "POST", body: bodyOf(form, button), headers: { accept: "application/json" } });
      if (reply.ok) {
        form.dispatchEvent(new Event("taken"));
        leave(form, reply.url);
        return;
      }
      tell(form, { ...(await reply.json()), status: reply.status });
    } catch { tell(form, {}); }
    idle(true);
    if (document.activeElement === document.body) button.focus({ preventScroll: true });
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!("stays" in form.dataset) || event.defaultPrevented) return;
    event.preventDefault();
    send(form, event.submitter || form.querySelector("[type=submit]"));
  });
  return { fieldOf, forget, tell };
})();
