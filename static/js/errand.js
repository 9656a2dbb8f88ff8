// Needs an element with data-module="errand" and an id, and data-errand="running" while work goes on.
// Looks at the page again every second and a half and puts in what is new; when the work has ended, also into
// every element marked data-live, by its id. Without this script the link in the element does the same.
const PAUSE_MS = 1500

export function errand(root) {
  if (root.dataset.errand === "running") setTimeout(look, PAUSE_MS, root)
}

async function look(root) {
  try {
    const answer = await fetch(location.pathname + location.search, { headers: { accept: "text/html" } })
    if (!answer.ok) throw new Error(`status ${answer.status}`)
    show(root, new DOMParser().parseFromString(await answer.text(), "text/html"))
  } catch (fault) {
    console.error("errand", fault)
  }
  errand(root)
}

function show(root, page) {
  const now = page.getElementById(root.id)
  if (!now) return
  root.setAttribute("aria-live", now.getAttribute("aria-live")) // numbers on the way are not read out, the end is
  root.dataset.errand = now.dataset.errand
  root.replaceChildren(...now.childNodes)
  if (root.dataset.errand === "running") return
  for (const old of document.querySelectorAll("[data-live]")) {
    const fresh = page.getElementById(old.id)
    if (fresh) old.replaceChildren(...fresh.childNodes)
  }
}
