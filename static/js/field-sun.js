// Says where the sun is now, by the line and by height, from the table in the page's data; straight between two rows.
import { put } from "./field-now.js"

export function showSun(data) {
  const root = document.querySelector("[data-field=now]")
  document.addEventListener("field:slot", ({ detail: { stand, now } }) => put(root, "sun", sunWords(data, stand, now)))
}

export function sunWords(data, stand, now) {
  const sun = sunAt(data.suns[stand.site], now)
  if (!sun) return "The sun is not in this page's table now; it is told from 90 min before the first slot to 90 min after the last."
  const gone = stand.gone.find(([from, until]) => from <= now && now < until)
  const height = sun.altitude >= 0 ? `${sun.altitude.toFixed(1)}° up` : `${(-sun.altitude).toFixed(1)}° down`
  return `Sun ${sideWords(turn(sun.azimuth - stand.line_deg))}, ${height}${gone ? `: ${gone[2]}` : ""}.`
}

export function sunAt(table, utcS) {
  const place = (utcS - table.first) / table.step_s
  const row = Math.floor(place)
  if (row < 0 || row + 1 >= table.azimuth_deg.length) return null
  const between = (values) => values[row] + (values[row + 1] - values[row]) * (place - row)
  return { azimuth: between(table.azimuth_deg), altitude: between(table.altitude_deg) }
}

// -180 to 180, right positive.
export function turn(angle) {
  return ((((angle + 180) % 360) + 360) % 360) - 180
}

export function sideWords(offset) {
  const whole = Math.round(Math.abs(offset))
  return whole < 1 ? "on the line" : `${whole}° ${offset > 0 ? "right" : "left"} of the line`
}
