// Reads the phone's compass after the button was pressed, corrects it to true north by the shipped declination, and
// fills in bearing and altitude, which may be typed over. A point goes to the outbox as "sighted".
import { sideWords, turn } from "./field-sun.js"

const PATIENCE_MS = 3000

export function takeSights(data, outbox) {
  const root = document.querySelector("[data-field=compass]")
  if (!root) return
  root.hidden = false
  let slot, seen
  document.addEventListener("field:slot", ({ detail }) => (slot = detail))
  const says = root.querySelector("[data-compass=says]")
  const take = root.querySelector("[data-compass=take]")
  root.querySelector("[data-compass=ask]").addEventListener("click", async () => {
    says.textContent = "Asking the phone …"
    says.textContent = await startCompass((found) => {
      seen = withNorth(found, data.compass[slot.stand.site])
      take.hidden = false
      says.textContent = wordsOf(seen, slot.stand)
    })
  })
  const form = root.querySelector("form")
  take.addEventListener("click", () => {
    form.elements.bearing.value = seen.bearing.toFixed(1)
    form.elements.altitude.value = seen.altitude.toFixed(1)
  })
  form.addEventListener("submit", (event) => {
    event.preventDefault()
    says.textContent = keep(form, slot, outbox)
  })
}

// A reading that does not say where north is (absolute) is none.
async function startCompass(onSeen) {
  const kind = window.DeviceOrientationEvent
  if (!window.isSecureContext) return "A browser gives the compass only to pages that came by https. Type what another compass says."
  if (!kind) return "This browser gives no compass. Type what another one says."
  if (kind.requestPermission && (await kind.requestPermission()) !== "granted") return "The compass was not allowed. Type what another one says."
  return new Promise((answer) => {
    const late = setTimeout(answer, PATIENCE_MS, "No compass has answered. Type what another one says.")
    const see = (event) => {
      const found = event.absolute || event.webkitCompassHeading !== undefined ? lookingOf(event) : null
      if (!found || document.hidden) return
      clearTimeout(late)
      onSeen(found)
    }
    for (const name of ["deviceorientationabsolute", "deviceorientation"]) window.addEventListener(name, see)
  })
}

// Where the back of the phone looks, by magnetic north. Rotation Z-X'-Y'' of the W3C's Device Orientation, section 3.
export function lookingOf({ alpha, beta, gamma, webkitCompassHeading, webkitCompassAccuracy }) {
  if (beta === null || gamma === null || (alpha === null && webkitCompassHeading === undefined)) return null
  const [a, b, g] = [alpha ?? 0, beta, gamma].map((angle) => (angle * Math.PI) / 180)
  const east = -Math.cos(a) * Math.sin(g) - Math.sin(a) * Math.sin(b) * Math.cos(g)
  const north = -Math.sin(a) * Math.sin(g) + Math.cos(a) * Math.sin(b) * Math.cos(g)
  const up = -Math.cos(b) * Math.cos(g)
  const heading = webkitCompassHeading ?? (Math.atan2(east, north) * 180) / Math.PI
  return { heading: (heading + 360) % 360, altitude: (Math.asin(up) * 180) / Math.PI, accuracy: webkitCompassAccuracy ?? null }
}

function withNorth(found, at) {
  return { ...found, bearing: (found.heading + at.east_deg + 360) % 360, at }
}

function wordsOf({ bearing, altitude, accuracy, at }, stand) {
  const north = `${Math.abs(at.east_deg).toFixed(1)}° ${at.east_deg < 0 ? "taken off" : "added"} for magnetic north`
  const sure = accuracy !== null && accuracy >= 0 ? `the phone says ± ${Math.round(accuracy)}°` : "the phone does not say how sure it is; ± 10° and more is usual (from memory)"
  return `Looking ${bearing.toFixed(1)}° true, ${sideWords(turn(bearing - stand.line_deg))}, ${Math.abs(altitude).toFixed(1)}° ${altitude < 0 ? "down" : "up"}. ${north}; ${sure}. ${at.note}`.trim()
}

function keep(form, { slot, stand }, outbox) {
  const [bearing, altitude] = ["bearing", "altitude"].map((name) => Number(form.elements[name].value.replace(",", ".") || NaN))
  if (!(bearing >= 0 && bearing <= 360)) return "A bearing is 0 to 360 degrees from true north."
  if (!(altitude >= -10 && altitude <= 90)) return "An altitude is -10 to 90 degrees above level."
  outbox.add(slot.id, "sighted", { site: stand.site, setup: stand.setup, bearing_deg: bearing, altitude_deg: altitude })
  form.reset()
  return `Kept: ${bearing}° true, ${altitude}° up. It goes into the site's survey when it is sent, and the order is worked out anew with it.`
}
