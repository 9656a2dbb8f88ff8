// Needs a strip of frames, an ol, in the element with data-module="plan-strip", one of its links with aria-current.
// Brings the frame that is shown into view, where the strip is wider than the screen.
export function planStrip(root) {
  const strip = root.querySelector("ol")
  const shown = root.querySelector("[aria-current]")
  if (!shown) return
  const middle = shown.getBoundingClientRect().left + shown.offsetWidth / 2 - strip.getBoundingClientRect().left
  strip.scrollTo({ left: strip.scrollLeft + middle - strip.clientWidth / 2, behavior: "instant" })
}
