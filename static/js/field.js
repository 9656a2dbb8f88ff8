// Starts the field page: each part by itself, so that one that breaks leaves the others alive.
// Parts meet by events on the document: "field:tick" (detail.now), "field:slot" (detail.slot, detail.stand, detail.now),
// "field:changed" (detail.entries, from the outbox), and "field:tell" (detail.about, detail.words; no words take it away).
import { watchClock } from "./field-clock.js"
import { showNow } from "./field-now.js"
import { showFrames } from "./field-frames.js"
import { showSun } from "./field-sun.js"
import { showSettings } from "./field-meter.js"
import { takePresses } from "./field-actions.js"
import { solveAgain } from "./field-again.js"
import { takeSights } from "./field-compass.js"
import { choosePaper } from "./field-papers.js"
import { keepPage } from "./field-keep.js"
import { keepAwake } from "./field-wake.js"
import { openOutbox } from "./outbox.js"

const data = JSON.parse(document.getElementById("field-data").textContent)
const outbox = openOutbox(data, document.body.dataset.log)
const parts = { tellAll, choosePaper, showFrames, showSun, showSettings, takePresses, solveAgain, takeSights, keepAwake, keepPage, showNow, watchClock }

for (const [name, start] of Object.entries(parts)) {
  try {
    start(data, outbox)
  } catch (fault) {
    console.error(name, fault)
  }
}
outbox.open()

function tellAll() {
  const board = document.querySelector("[data-field=told]")
  document.addEventListener("field:tell", ({ detail: { about, words } }) => {
    const there = board.querySelector(`[data-about="${about}"]`)
    if (!words) return there?.remove()
    const line = there ?? board.appendChild(Object.assign(document.createElement("p"), { className: "caution" }))
    line.dataset.about = about
    if (line.textContent !== words) line.textContent = words
  })
}
