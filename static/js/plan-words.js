// Needs an element data-plan-words, a live region, in the element with data-module="plan-words".
// Says what became of a move; after a conflict it offers the page as it is now.
export function planWords(root) {
  const words = root.querySelector("[data-plan-words]")
  document.addEventListener("plan-save:kept", ({ target, detail: { undo, answer } }) => {
    const line = "line_deg" in answer ? ` Line ${answer.line_deg.toFixed(1)}° true, ${answer.distance_m.toFixed(1)} m.` : ""
    words.textContent = `${undo ? "Taken back" : "Kept"}: ${target.dataset.called}.${line}`
  })
  document.addEventListener("plan-save:refused", ({ target, detail }) => {
    words.textContent = `${target.dataset.called} is back where it was. ${detail.words} `
    if (!detail.conflict) return
    words.append(Object.assign(document.createElement("a"), { href: location.href, textContent: "Open the plan as it is now" }))
  })
}
