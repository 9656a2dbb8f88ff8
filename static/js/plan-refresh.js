// Needs parts of the page marked data-part="…". After a move is kept, fetches the page and swaps those parts in, so
// that frames, windows and words tell of where things are now. The drawing itself is redrawn by plan-redraw.js.
export function planRefresh() {
  let latest = 0
  document.addEventListener("plan-save:kept", async () => {
    const mine = ++latest
    const answer = await fetch(location.href)
    if (!answer.ok || mine !== latest) return
    const page = new DOMParser().parseFromString(await answer.text(), "text/html")
    for (const part of document.querySelectorAll("[data-part]:not([data-part=sheet])")) {
      const newer = page.querySelector(`[data-part="${part.dataset.part}"]`)
      if (newer) swap(part, document.importNode(newer, true))
    }
  })
}

function swap(part, newer) {
  const left = part.querySelector("ol")?.scrollLeft ?? 0
  part.replaceWith(newer)
  newer.querySelector("ol")?.scrollTo({ left, behavior: "instant" })
}
