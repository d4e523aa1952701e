// Requests for the part of a page that an answer replaces.

export interface Answer {
  ok: boolean
  body: DocumentFragment
}

export async function ask(url: string, init: RequestInit = {}): Promise<Answer> {
  const headers = new Headers(init.headers)
  headers.set('X-Fettle-Part', 'yes')
  const response = await fetch(url, { ...init, headers, credentials: 'same-origin' })
  const parsed = new DOMParser().parseFromString(await response.text(), 'text/html')
  const body = document.createDocumentFragment()
  body.append(...parsed.body.childNodes)
  return { ok: response.ok, body }
}

// send posts a form with the button that was pressed.
export function send(form: HTMLFormElement, button: HTMLElement | null, signal: AbortSignal): Promise<Answer> {
  const data = new URLSearchParams()
  for (const [name, value] of new FormData(form)) {
    if (typeof value === 'string') data.append(name, value)
  }
  if (button instanceof HTMLButtonElement && button.name !== '') data.append(button.name, button.value)
  return ask(form.action, { method: 'POST', body: data, signal })
}

// tell reads a text out, for those who can't see what changed.
export function tell(text: string): void {
  const told = document.getElementById('told')
  if (told) told.textContent = text
}

export function aborted(e: unknown): boolean {
  return e instanceof DOMException && e.name === 'AbortError'
}
