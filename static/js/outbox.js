// The outbox of a shoot's field page: what was pressed is kept on the phone at once and sent when there is signal.
// Sends "field:changed" with detail.entries: the server's log and what still waits. Each entry has a uid made here, so
// that one sent twice is kept once. Pages of one phone tell each other by a BroadcastChannel.
import { lengthWords, nowUtcS, tell } from "./field-clock.js"
import { inMemory, openShelf } from "./outbox-shelf.js"
import { sendEntries } from "./outbox-send.js"

const EVERY_MS = 30_000, CLOCK_S = 120
const WHY = {
  "signed-out": "Westering asks for the passphrase again: open the shoot's page and give it there. What was pressed is kept on this phone and goes then.",
  gone: "This shoot is not on the server any more. What was pressed stays on this phone.",
  trouble: "The server has trouble with what was sent. It is kept on this phone and sent again.",
}

export function openOutbox(data, address) {
  const box = { data, address, shelf: inMemory(), held: inMemory(), log: rememberedLog(data), waiting: [], device: deviceId(), sending: null }
  const channel = "BroadcastChannel" in window ? new BroadcastChannel("westering-outbox") : null
  box.ready = openShelf().then((shelf) => (box.shelf = shelf))
  box.shout = () => channel?.postMessage(data.shoot)
  channel?.addEventListener("message", () => refresh(box))
  return {
    device: box.device,
    entries: () => entriesOf(box),
    add: (slot, kind, told) => add(box, slot, kind, told),
    send: () => send(box),
    open: () => open(box),
  }
}

async function open(box) {
  await box.ready
  tellClock(remembered(box.data)?.ahead ?? 0, " when they last met")
  if (box.shelf.kind === "memory") tell("full", "This browser keeps nothing: what you press is lost when the page is closed before it was sent.")
  await refresh(box)
  window.addEventListener("online", () => send(box))
  document.addEventListener("visibilitychange", () => document.hidden || refresh(box).then(() => send(box)))
  setInterval(() => document.hidden || send(box), EVERY_MS)
  send(box)
}

async function add(box, slot, kind, told) {
  const entry = { uid: newId(), slot, kind, at_utc_s: pressedAt(box), told, device: box.device, shoot: box.data.shoot }
  try {
    await box.ready
    await box.shelf.put(entry)
  } catch (fault) {
    console.warn("outbox", fault)
    await box.held.put(entry)
    tell("full", "This phone's storage is full: what you press now is held only while this page stays open. Make some room, or get to a place with signal before you close it.")
  }
  await refresh(box)
  box.shout()
  send(box)
}

// To a tenth of a second, and after what was pressed before: the later press must count.
function pressedAt(box) {
  const tenths = Math.round(nowUtcS() * 10)
  const soon = box.lastTenths !== undefined && box.lastTenths >= tenths && box.lastTenths - tenths < 10
  box.lastTenths = soon ? box.lastTenths + 1 : tenths
  return box.lastTenths / 10
}

// One sending at a time; returns whether the server has answered.
function send(box) {
  box.sending ??= sendNow(box).finally(() => (box.sending = null))
  return box.sending
}

async function sendNow(box) {
  await readShelf(box)
  const answer = await sendEntries(box.address, box.waiting.filter((one) => !one.refused))
  tell("signal", WHY[answer.why] ?? "")
  if (answer.why) {
    tellWaiting(box)
    return false
  }
  const ahead = answer.clockS - answer.now_utc_s
  tellClock(ahead)
  tell("plan", answer.plan === box.data.plan ? "" : "The running order has changed since this page was opened. Open it again for the new one; nothing pressed is lost.")
  box.log = answer.log
  remember(box, answer.now_utc_s, ahead)
  await settle(box, answer)
  const more = answer.kept.length && box.waiting.some((one) => !one.refused)
  return more ? sendNow(box) : true
}

async function settle(box, { kept, refused }) {
  await Promise.all([box.shelf, box.held].map((shelf) => shelf.remove(kept)))
  for (const { uid, why } of refused) {
    const entry = box.waiting.find((one) => one.uid === uid)
    if (entry) await box.shelf.put({ ...entry, refused: why }).catch(() => box.held.put({ ...entry, refused: why }))
  }
  await refresh(box)
  box.shout()
}

async function refresh(box) {
  await readShelf(box)
  tellWaiting(box)
  document.dispatchEvent(new CustomEvent("field:changed", { detail: { entries: entriesOf(box) } }))
}

async function readShelf(box) {
  const all = await Promise.all([box.shelf, box.held].map((shelf) => shelf.all()))
  const known = new Map(all.flat().filter((one) => one.shoot === box.data.shoot).map((one) => [one.uid, one]))
  box.waiting = [...known.values()].sort((one, other) => one.at_utc_s - other.at_utc_s)
}

// The log as the server told it, and what waits; each once.
function entriesOf(box) {
  const known = new Map([...box.log, ...box.waiting].map((one) => [one.uid, one]))
  return [...known.values()]
}

function tellWaiting(box) {
  const refused = box.waiting.filter((one) => one.refused)
  const count = box.waiting.length - refused.length
  tell("waiting", count ? `${count} ${count === 1 ? "thing is" : "things are"} kept on this phone and not sent yet.` : "")
  tell("refused", refused.length ? `The server cannot keep ${refused.length} of what was sent: ${refused[0].refused}` : "")
}

function tellClock(ahead, when = "") {
  const words = `This phone's clock ${when ? "was" : "is"} ${lengthWords(ahead)} ${ahead > 0 ? "ahead of" : "behind"} Westering's${when}. One of the two is wrong; times here go by the phone.`
  tell("clock", Math.abs(ahead) > CLOCK_S ? words : "")
}

// 128 bits by chance; crypto.randomUUID is not there on plain http.
function newId() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("")
}

function deviceId() {
  const fresh = newId().slice(0, 12)
  try {
    const known = localStorage.getItem("westering-device") ?? fresh
    localStorage.setItem("westering-device", known)
    return known
  } catch {
    return fresh
  }
}

// The page may have been kept before others told something: the last log that came is remembered beside it, under the
// server's time, as the page's own is, for the phone's may be wrong; and by how much it was.
function rememberedLog(data) {
  const known = remembered(data)
  return known && known.made >= data.made ? known.log : data.log
}

function remembered(data) {
  try {
    return JSON.parse(localStorage.getItem(`westering-log:${data.shoot}`) ?? "null")
  } catch {
    return null
  }
}

function remember(box, made, ahead) {
  try {
    localStorage.setItem(`westering-log:${box.data.shoot}`, JSON.stringify({ made, ahead, log: box.log }))
  } catch (fault) {
    console.warn("the log is not remembered", fault)
  }
}
