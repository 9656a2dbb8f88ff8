// Changes the paper at once, also without signal, and remembers it on this phone; with signal the server learns of it too.
const KEY = "westering-paper"

export function choosePaper() {
  const form = document.querySelector("[data-field=papers]")
  show(form, remembered())
  form.addEventListener("submit", (event) => {
    event.preventDefault()
    const paper = event.submitter.value
    show(form, paper)
    try {
      localStorage.setItem(KEY, paper)
    } catch (fault) {
      console.warn("the paper is not remembered", fault)
    }
    fetch(form.action, { method: "POST", body: new URLSearchParams({ paper }), redirect: "manual" }).catch(() => {})
  })
}

function show(form, paper) {
  if (!paper) return
  document.documentElement.className = `paper-${paper}`
  for (const button of form.elements) button.setAttribute("aria-pressed", String(button.value === paper))
}

function remembered() {
  try {
    return localStorage.getItem(KEY)
  } catch {
    return null
  }
}
