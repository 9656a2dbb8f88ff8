// Needs holders, as in plan-pins.js and plan-corners.js, with data-input, the name of the field that keeps them;
// data-clears names fields that would go before it. A choice named “drawn” tells whether an outline is closed.
// Keeps form and map alike: what moves on the map is written into its field, decimals typed there move the map.
const PAIR = /^\s*(-?\d+(?:\.\d+)?)[,\s]\s*(-?\d+(?:\.\d+)?)\s*$/

export function planFields(root) {
  const form = root.querySelector("form")
  for (const holder of root.querySelectorAll("[data-input]")) bind(form, holder)
}

function bind(form, holder) {
  const field = form.elements[holder.dataset.input]
  const write = (event) => {
    field.value = event.detail.at.map((point) => point.map((angle) => angle.toFixed(7)).join(", ")).join("\n")
    for (const name of holder.dataset.clears?.split(" ") ?? []) form.elements[name].value = ""
  }
  const read = () => {
    const lines = field.value.split("\n").filter((line) => line.trim()).map((line) => line.match(PAIR))
    if (lines.some((line) => !line)) return
    const at = lines.map(([, lat, lon]) => [Number(lat), Number(lon)])
    holder.dispatchEvent(new CustomEvent("plan-move:put", { bubbles: true, detail: { at } }))
  }
  holder.addEventListener("plan-move:moving", write)
  holder.addEventListener("plan-move:dropped", write)
  field.addEventListener("change", read)
  form.elements.drawn?.addEventListener("change", () => {
    holder.dataset.closed = form.elements.drawn.value === "line" ? "no" : "yes"
    read()
  })
  document.addEventListener("plan-map:ready", read)
}
