// Needs data-plan-version on the element with data-module="plan-save", and data-save, an address, on what is moved.
// Keeps every move on the server, one after the other. Sends, from what was moved, "plan-save:kept" with
// detail.before, detail.at, detail.undo and detail.answer, or "plan-save:refused" with detail.words and
// detail.conflict; then the thing goes back by "plan-move:put".
export function planSave(root) {
  let last = Promise.resolve()
  root.addEventListener("plan-move:dropped", (event) => {
    if (event.target.dataset.save) last = last.then(() => keep(root, event.target, event.detail))
  })
}

async function keep(root, holder, { before, at, undo = false }) {
  const tell = (what, detail) => holder.dispatchEvent(new CustomEvent(what, { bubbles: true, detail }))
  try {
    const body = JSON.stringify({ ...bodyOf(holder.dataset.move, at), version: Number(root.dataset.planVersion) })
    const headers = { "content-type": "application/json" }
    const response = await fetch(holder.dataset.save, { method: "PUT", headers, body })
    const answer = await response.json()
    if (response.ok) {
      root.dataset.planVersion = answer.version
      return tell("plan-save:kept", { before, at, undo, answer })
    }
    tell("plan-save:refused", { words: answer.error, conflict: response.status === 409 })
  } catch {
    tell("plan-save:refused", { words: "Westering does not answer, so the move was not kept.", conflict: false })
  }
  tell("plan-move:put", { at: before })
}

function bodyOf(move, at) {
  const lonLat = at.map(([lat, lon]) => [lon, lat])
  if (move === "shape") return { coordinates: lonLat }
  return { [move === "point" ? "coordinates" : move]: lonLat[0] }
}
