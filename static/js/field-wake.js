// Keeps the screen awake while the button is pressed and the page is seen, where the browser can.
export function keepAwake() {
  const button = document.querySelector("[data-field=wake]")
  if (!button || !("wakeLock" in navigator)) return
  let lock = null
  button.hidden = false
  const hold = async () => {
    try {
      lock = await navigator.wakeLock.request("screen")
    } catch {
      button.setAttribute("aria-pressed", "false")
      button.textContent = "The phone does not let the screen be kept awake now; try again"
    }
  }
  button.addEventListener("click", async () => {
    const on = button.getAttribute("aria-pressed") !== "true"
    button.setAttribute("aria-pressed", String(on))
    button.textContent = on ? "Screen is kept awake; press to let it sleep" : "Keep the screen awake"
    if (on) return hold()
    await lock?.release()
    lock = null
  })
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && button.getAttribute("aria-pressed") === "true") hold()
  })
}
