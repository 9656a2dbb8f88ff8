// Needs drawings with data-bounds="south west north east", in degrees, in an element with data-module="light-point", and
// a form field that data-field names. A press on a drawing types that place into the field and sends its form.
export function lightPoint(root) {
  const field = document.getElementById(root.dataset.field)
  root.classList.add("light-plan--live")
  for (const hint of document.querySelectorAll("[data-light-hint]")) hint.hidden = false
  root.addEventListener("click", (event) => {
    const drawing = event.target.closest("[data-bounds]")
    if (!drawing) return
    field.value = placeAt(drawing, event)
    field.form.action = `${field.form.action.split("#")[0]}#lit`
    field.form.requestSubmit()
  })
}

function placeAt(drawing, event) {
  const [south, west, north, east] = drawing.dataset.bounds.split(" ").map(Number)
  const box = drawing.getBoundingClientRect()
  const across = (event.clientX - box.left) / box.width
  const down = (event.clientY - box.top) / box.height
  return `${(north - (north - south) * down).toFixed(6)}, ${(west + (east - west) * across).toFixed(6)}`
}
