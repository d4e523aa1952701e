import { aborted, ask } from './answer.js'

// Chances waits for the chances of falling short and puts them into the table.
// It stands in the table while they are due; when an edit replaces the table,
// it goes with it and stops waiting.
export class Chances extends HTMLElement {
  #under: AbortController | null = null

  connectedCallback(): void {
    this.#under = new AbortController()
    void this.#wait(this.#under.signal)
  }

  disconnectedCallback(): void {
    this.#under?.abort()
  }

  async #wait(signal: AbortSignal): Promise<void> {
    const src = this.getAttribute('src')
    if (!src) return
    try {
      const answer = await ask(src, { signal })
      const rooms = answer.body.querySelector('#rooms')
      if (!answer.ok || !rooms || signal.aborted) return
      const at = document.activeElement
      const fig = at instanceof HTMLElement && this.closest('#rooms')?.contains(at) ? at.dataset['fig'] : undefined
      this.closest('#rooms')?.replaceWith(rooms)
      if (fig) rooms.querySelector<HTMLElement>(`a[data-fig="${CSS.escape(fig)}"]`)?.focus({ preventScroll: true })
    } catch (e) {
      if (!aborted(e)) this.textContent = 'The chances could not be drawn.'
    }
  }
}
