// Puts the frames expected now and in ten minutes into [data-frame=first] and [data-frame=second].
// They come from the list of the stand on the page, <ol data-stand> with <li data-at>: the nearest in time is taken.
const LATER_S = 600

export function showFrames() {
  document.addEventListener("field:slot", ({ detail: { stand, now } }) => {
    const frames = [...document.querySelectorAll(`[data-stand="${stand.key}"] [data-at]`)]
    if (!frames.length) return
    show("first", nearest(frames, now), now)
    show("second", nearest(frames, now + LATER_S), now + LATER_S)
  })
}

function nearest(frames, utcS) {
  const far = (frame) => Math.abs(Number(frame.dataset.at) - utcS)
  return frames.reduce((best, frame) => (far(frame) < far(best) ? frame : best))
}

function show(which, frame, utcS) {
  const place = document.querySelector(`[data-frame="${which}"]`)
  const far = Math.abs(Number(frame.dataset.at) - utcS) > 300
  const title = far ? "nearest drawn" : which === "first" ? "now" : "in 10 min"
  if (place.querySelector("figcaption span").textContent !== title) place.querySelector("figcaption span").textContent = title
  const key = `${frame.closest("[data-stand]").dataset.stand}@${frame.dataset.at}`
  if (place.dataset.shown === key) return
  place.dataset.shown = key
  place.querySelector("time").textContent = frame.querySelector("time").textContent
  place.querySelector("[data-picture]").replaceChildren(frame.querySelector("svg").cloneNode(true))
  for (const name of ["where", "cover"]) place.querySelector(`.frame__${name}`).textContent = frame.querySelector(`.frame__${name}`).textContent
}
