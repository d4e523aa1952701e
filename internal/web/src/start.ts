import { aborted, ask } from './answer.js'
import { Sheet } from './sheet.js'

// Start looks how far a virtual start is, and fetches the sheet when it is over.
// It goes with the bar that it stands in.
export class Start extends HTMLElement {
  #under: AbortController | null = null

  connectedCallback(): void {
    this.#under = new AbortController()
    void this.#watch(this.#under.signal)
  }

  disconnectedCallback(): void {
    this.#under?.abort()
  }

  async #watch(signal: AbortSignal): Promise<void> {
    const src = this.getAttribute('src')
    if (!src) return
    try {
      for (;;) {
        await new Promise((go) => setTimeout(go, 200))
        if (signal.aborted) return
        const answer = await ask(src, { signal })
        const next = answer.body.querySelector('.going')
        if (!answer.ok || !next) break
        this.#show(next)
      }
      const sheet = this.closest('fettle-sheet')
      if (sheet instanceof Sheet && !signal.aborted) await sheet.again()
    } catch (e) {
      if (!aborted(e)) this.textContent = 'The server does not answer.'
    }
  }

  // The bar is moved, not made anew, so that it is not read out five times a second.
  #show(next: Element): void {
    const bar = this.querySelector('progress')
    const at = next.querySelector('progress')
    if (bar && at) bar.value = at.value
    const says = this.querySelector('.going span')
    const text = next.querySelector('span')?.textContent ?? ''
    if (says && says.textContent !== text) says.textContent = text
  }
}
