// Needs data-drawing, the address of the drawing, on the element with data-module="plan-redraw"; perhaps an element
// data-part="strip" with data-strip, the address of its frames.
// While a pin moves, fetches drawing and frames anew, never more than one of each at once; after a change of scale,
// the drawing. Sends "plan-map:draw" with detail.svg.
const SAME_SCALE = 1.12

export function planRedraw(root) {
  const moved = {}
  let scale = null
  let drawn = Number(root.querySelector(".plan--desk")?.dataset.scale)
  const draw = oneAtATime(async () => {
    const svg = await drawing(root.dataset.drawing, { ...moved, ...(scale && { scale: scale.toFixed(4) }) })
    if (svg) root.dispatchEvent(new CustomEvent("plan-map:draw", { detail: { svg } }))
  })
  const strip = oneAtATime(async () => {
    const frames = document.querySelector("[data-strip]")
    if (!frames) return
    const answer = await fetch(`${frames.dataset.strip}?${new URLSearchParams(moved)}`)
    if (answer.ok && Object.keys(moved).length) swap(frames, await answer.text())
  })
  document.addEventListener("plan-move:moving", ({ target, detail: { at } }) => {
    if (!["camera", "couple"].includes(target.dataset.move)) return
    moved[target.dataset.move] = at[0].map((angle) => angle.toFixed(7)).join(",")
    draw()
    strip()
  })
  for (const over of ["plan-save:kept", "plan-save:refused"]) {
    document.addEventListener(over, () => {
      for (const pin of Object.keys(moved)) delete moved[pin]
      draw()
    })
  }
  document.addEventListener("plan-save:refused", strip)
  root.addEventListener("plan-map:zoomed", (event) => {
    scale = event.detail.scale
    if (Math.max(scale / drawn, drawn / scale) < SAME_SCALE) return
    drawn = scale
    draw()
  })
}

async function drawing(address, more) {
  const answer = await fetch(`${address}&${new URLSearchParams(more)}`)
  if (!answer.ok) return null
  const svg = new DOMParser().parseFromString(await answer.text(), "image/svg+xml").documentElement
  svg.querySelector("defs")?.remove()
  return document.importNode(svg, true)
}

function swap(frames, html) {
  const left = frames.querySelector("ol").scrollLeft
  const page = new DOMParser().parseFromString(html, "text/html")
  frames.replaceChildren(...page.body.childNodes)
  frames.querySelector("ol").scrollLeft = left
}

// Returns a function that runs the work now, or once more after the run under way.
function oneAtATime(work) {
  let busy = false
  let again = false
  return async function run() {
    if (busy) {
      again = true
      return
    }
    busy = true
    try {
      await work()
    } catch {
      // The network is away; the next move tries again.
    }
    busy = false
    if (again) {
      again = false
      run()
    }
  }
}
