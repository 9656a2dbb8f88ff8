// Needs frames as <li class="frame"> with a form and its button inside an element with data-module="frame-picker".
// Rings a frame, or wipes its ring off, without leaving the page. Without this script the form posts by itself.
// Sends "frame-picker:picked" up the page, with detail.at and detail.chosen.
export function framePicker(root) {
  root.addEventListener("submit", async (event) => {
    const form = event.target
    const button = form.querySelector("button[name=chosen]")
    if (!button) return
    event.preventDefault()
    const chosen = button.value === "yes"
    const body = new URLSearchParams(new FormData(form))
    body.set("chosen", button.value)
    try {
      const answer = await fetch(form.action, { method: "POST", body, redirect: "manual" })
      if (answer.type !== "opaqueredirect" && !answer.ok) throw new Error(`status ${answer.status}`)
    } catch {
      body.delete("chosen")
      form.append(Object.assign(document.createElement("input"), { type: "hidden", name: "chosen", value: button.value }))
      form.submit()
      return
    }
    show(form.closest(".frame"), button, chosen)
    const detail = { at: body.get("at"), chosen }
    root.dispatchEvent(new CustomEvent("frame-picker:picked", { bubbles: true, detail }))
  })
}

function show(frame, button, chosen) {
  frame.classList.toggle("frame--chosen", chosen)
  button.value = chosen ? "no" : "yes"
  button.setAttribute("aria-pressed", String(chosen))
}
