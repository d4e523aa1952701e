import { aborted, ask } from './answer.js'

// Filling tells how far the work is that a page waits for. On a page of its own it
// loads the page that was asked for when the work is over; at the foot of a sheet
// it shows nothing until there is something to tell, and Cancel gives the edit up.
export class Filling extends HTMLElement {
  #under: AbortController | null = null

  connectedCallback(): void {
    this.#under = new AbortController()
    this.addEventListener('submit', (e) => {
      if (this.dataset['page']) return // the form goes its own way
      e.preventDefault()
      e.stopPropagation()
      this.dispatchEvent(new Event('end'))
    })
    void this.#watch(this.#under.signal)
  }

  disconnectedCallback(): void {
    this.#under?.abort()
  }

  async #watch(signal: AbortSignal): Promise<void> {
    while (!signal.aborted) {
      await new Promise((done) => setTimeout(done, 350))
      try {
        const far = (await ask('/filling', { signal })).body.querySelector<HTMLElement>('#far')
        if (signal.aborted || !far) return
        if (far.dataset['over'] && this.dataset['page']) {
          location.reload()
          return
        }
        this.#put(far)
      } catch (e) {
        if (aborted(e)) return
      }
    }
  }

  // The button keeps the focus: only words and bar change.
  #put(far: HTMLElement): void {
    const old = this.querySelector('#far')
    if (far.dataset['over']) return
    if (!old) {
      this.append(far)
      return
    }
    for (const part of ['p', 'progress']) {
      const fresh = far.querySelector(part)
      if (fresh) old.querySelector(part)?.replaceWith(fresh)
    }
  }
}
