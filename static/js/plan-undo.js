// Needs a button data-plan-do="undo" in the element with data-module="plan-undo".
// Takes the last move back, by the button or by Escape in the plan: the last one kept, or on a form the last one made.
// Escape in the middle of a move is not for here.
export function planUndo(root) {
  const button = root.querySelector("[data-plan-do=undo]")
  const done = []
  const remember = ({ target, detail }) => {
    if (!detail.undo) done.push({ holder: target, ...detail })
    button.disabled = !done.length
  }
  document.addEventListener("plan-save:kept", remember)
  document.addEventListener("plan-move:dropped", (event) => event.target.dataset.save || remember(event))
  const undo = () => {
    const last = done.pop()
    if (!last) return
    button.disabled = !done.length
    const tell = (what, detail) => last.holder.dispatchEvent(new CustomEvent(`plan-move:${what}`, { bubbles: true, detail }))
    tell("put", { at: last.before })
    tell("dropped", { before: last.at, at: last.before, undo: true })
  }
  button.addEventListener("click", undo)
  root.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && !event.defaultPrevented) undo()
  })
}
