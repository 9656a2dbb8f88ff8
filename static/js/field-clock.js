// Sends "field:tick" with detail.now, in seconds since 1970 UTC, every five seconds while the page is seen.
// Shows the shoot's clock in [data-field=clock], and says where this phone's clock shows another hour.
const PAUSE_MS = 5000

export function watchClock(data) {
  const face = document.querySelector("[data-field=clock]")
  let timer
  const tick = () => {
    const now = nowUtcS()
    face.textContent = clockOf(data, now)
    tellZone(data, now)
    document.dispatchEvent(new CustomEvent("field:tick", { detail: { now } }))
  }
  const watch = () => {
    clearInterval(timer)
    if (document.hidden) return
    tick()
    timer = setInterval(tick, PAUSE_MS)
  }
  document.addEventListener("visibilitychange", watch)
  watch()
}

export function nowUtcS() {
  return Date.now() / 1000
}

// Hours and minutes on the shoot's clocks, to the nearest minute.
export function clockOf(data, utcS) {
  return localIso(data, utcS).slice(11, 16)
}

// The date on the shoot's clocks, “2027-09-18”.
export function dayOf(data, utcS) {
  return localIso(data, utcS).slice(0, 10)
}

function localIso(data, utcS) {
  return new Date((Math.round(utcS / 60) * 60 + offsetS(data, utcS)) * 1000).toISOString()
}

// “25 min”, “1 h 5 min”, “3 days”.
export function lengthWords(seconds) {
  const minutes = Math.floor(Math.abs(seconds) / 60)
  if (minutes < 60) return `${minutes} min`
  if (minutes < 48 * 60) return `${Math.floor(minutes / 60)} h ${minutes % 60} min`
  return `${Math.floor(minutes / 1440)} days`
}

export function tell(about, words) {
  document.dispatchEvent(new CustomEvent("field:tell", { detail: { about, words } }))
}

function offsetS(data, utcS) {
  return data.offsets.findLast(([from]) => from <= utcS)?.[1] ?? data.offsets[0][1]
}

function tellZone(data, now) {
  const own = new Date(now * 1000)
  const differs = Math.abs(-own.getTimezoneOffset() * 60 - offsetS(data, now)) >= 60
  const time = `${String(own.getHours()).padStart(2, "0")}:${String(own.getMinutes()).padStart(2, "0")}`
  tell("zone", differs ? `All times here are those of ${data.zone}. This phone keeps another time zone; its own clock shows ${time}.` : "")
}
