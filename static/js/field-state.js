// What became of each slot, from the log: the same rules as app/shoot/log.py.

// What still counts, in time order: without what was taken back.
export function standing(entries) {
  const undone = new Set(entries.filter((one) => one.kind === "undo").map((one) => one.told.of))
  return entries
    .filter((one) => one.kind !== "undo" && !undone.has(one.uid))
    .sort((one, other) => one.at_utc_s - other.at_utc_s || (one.uid < other.uid ? -1 : 1))
}

export function slotState(entries, id) {
  const mine = standing(entries).filter((one) => one.slot === id)
  const started = mine.find((one) => one.kind === "start")?.at_utc_s ?? null
  const end = mine.findLast((one) => one.kind === "done" || one.kind === "skip")
  return {
    started,
    ended: end?.at_utc_s ?? null,
    outcome: end?.kind ?? (started === null ? "" : "start"),
    standby: mine.findLast((one) => one.kind === "standby")?.told.spot ?? "",
    notes: mine.filter((one) => one.kind === "note").map((one) => one.told.text),
    clashes: clashes(mine),
  }
}

// The slot that goes on, else the first that is neither done nor skipped; null when all are.
export function currentSlot(entries, slots) {
  const open = slots.filter((slot) => !["done", "skip"].includes(slotState(entries, slot.id).outcome))
  return open.find((slot) => slotState(entries, slot.id).outcome === "start") ?? open[0] ?? null
}

// By how many stops the last reading at a site was over what is reckoned now.
export function correctionStops(entries, site, baseStops) {
  const last = standing(entries).findLast(({ kind, told }) => kind === "meter" && told.site === site && Number.isFinite(told.stops + (told.base_stops ?? 0)))
  return last ? last.told.stops + (last.told.base_stops ?? 0) - baseStops : 0
}

function clashes(mine) {
  const two = (kinds) => mine.some((one) => mine.some((other) => one.device !== other.device && one.kind === kinds[0] && other.kind === kinds[1]))
  const told = []
  if (two(["start", "start"])) told.push("Two devices started it; the first start counts.")
  if (two(["done", "skip"])) told.push("One device says done, another skipped; the later one counts.")
  return told
}
