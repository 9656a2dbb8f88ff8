// Sends entries to the log and returns the answer, or {why} in a word: offline, signed-out, gone, trouble.
const PATIENCE_MS = 15_000, MOST = 400

export async function sendEntries(address, entries) {
  const sent = entries.slice(0, MOST).map(({ uid, slot, kind, at_utc_s, told, device }) => ({ uid, slot, kind, at_utc_s, told, device }))
  const began = Date.now()
  try {
    const answer = await fetch(address, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(sent),
      redirect: "manual",
      signal: AbortSignal.timeout?.(PATIENCE_MS),
    })
    if (!answer.ok) return { why: whyNot(answer.status) }
    return { ...(await answer.json()), clockS: (began + Date.now()) / 2000 }
  } catch {
    return { why: "offline" }
  }
}

function whyNot(status) {
  if (status === 401 || status === 403 || status === 0) return "signed-out"
  return status === 404 ? "gone" : "trouble"
}
