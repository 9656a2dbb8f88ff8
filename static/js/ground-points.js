// Needs an img and buttons data-point="1" and "2" in the element with data-module="ground-points", and fields
// point_1_x, point_1_y, point_2_x, point_2_y in the form around it, in pixels of the picture.
// A press on the picture marks the first point that is missing, else the last one marked; marks can be dragged, or
// moved by the arrow keys, a pixel a step, ten with Shift.
const ARROWS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }

export function groundPoints(root) {
  const picture = root.querySelector("img")
  const form = root.closest("form")
  const marks = [...root.querySelectorAll("[data-point]")].map((button) => mark(root, picture, form, button))
  let last = marks.at(-1)
  for (const hint of document.querySelectorAll("[data-plan-hint]")) hint.hidden = false
  picture.addEventListener("click", (event) => {
    last = marks.find((one) => one.button.hidden) ?? last
    last.put(pixelAt(picture, event))
    last.button.focus({ preventScroll: true })
  })
}

function mark(root, picture, form, button) {
  const fields = ["x", "y"].map((axis) => form.elements[`point_${button.dataset.point}_${axis}`])
  const show = () => {
    const [x, y] = fields.map((field) => Number.parseFloat(field.value.replace(",", ".")))
    button.hidden = !(Number.isFinite(x) && Number.isFinite(y))
    if (button.hidden) return
    button.style.insetInlineStart = `${(x / Number(picture.getAttribute("width"))) * 100}%`
    button.style.insetBlockStart = `${(y / Number(picture.getAttribute("height"))) * 100}%`
  }
  const put = ([x, y]) => {
    fields[0].value = x.toFixed(1)
    fields[1].value = y.toFixed(1)
    show()
  }
  for (const field of fields) field.addEventListener("change", show)
  button.addEventListener("keydown", (event) => {
    const step = ARROWS[event.key]
    if (!step) return
    event.preventDefault()
    const size = event.shiftKey ? 10 : 1
    put(fields.map((field, axis) => Number.parseFloat(field.value) + step[axis] * size))
  })
  button.addEventListener("pointerdown", (event) => {
    button.setPointerCapture(event.pointerId)
  })
  button.addEventListener("pointermove", (event) => {
    if (button.hasPointerCapture(event.pointerId)) put(pixelAt(picture, event))
  })
  show()
  return { button, put }
}

function pixelAt(picture, event) {
  const box = picture.getBoundingClientRect()
  const size = [Number(picture.getAttribute("width")), Number(picture.getAttribute("height"))]
  const inside = [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height]
  return inside.map((share, axis) => Math.min(Math.max(share, 0), 1) * size[axis])
}
