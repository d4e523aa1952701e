import { aborted, ask, send, tell } from './answer.js'
import { Sheet } from './sheet.js'

// Working opens a figure's working at the side of the sheet; on a phone over it.
// Escape closes it, and the focus goes back to the figure.
export class Working extends HTMLElement {
  #dialog = document.createElement('dialog')
  #inside = document.createElement('div')
  #back = document.createElement('button')
  #trail: string[] = []
  #from: string | null = null
  #edited = false

  connectedCallback(): void {
    const bar = document.createElement('p')
    bar.className = 'btns'
    this.#back.type = 'button'
    this.#back.className = 'btn'
    this.#back.textContent = 'Back'
    this.#back.addEventListener('click', () => void this.#step())
    const close = document.createElement('button')
    close.type = 'button'
    close.className = 'btn close'
    close.textContent = 'Close'
    close.addEventListener('click', () => this.#dialog.close())
    bar.append(this.#back, close)
    this.#dialog.className = 'side-sheet'
    this.#dialog.setAttribute('aria-label', 'Working')
    this.#dialog.append(bar, this.#inside)
    this.#dialog.addEventListener('close', () => this.#closed())
    this.#dialog.addEventListener('submit', (e) => void this.#submit(e))
    this.#dialog.addEventListener('click', (e) => {
      if (e.target === this.#dialog) this.#dialog.close()
    })
    this.append(this.#dialog)
    document.addEventListener('click', (e) => this.#click(e))
  }

  #click(e: MouseEvent): void {
    if (e.button !== 0 || e.ctrlKey || e.metaKey || e.shiftKey || e.altKey || !(e.target instanceof Element)) return
    const link = e.target.closest('a[data-fig]')
    const href = link?.getAttribute('href')
    if (!link || !href || document.querySelector('main > .working')) return
    e.preventDefault()
    if (!this.#dialog.open) {
      this.#from = link.getAttribute('data-fig')
      this.#trail = []
    }
    void this.#show(href)
  }

  async #step(): Promise<void> {
    this.#trail.pop()
    const last = this.#trail.pop()
    if (last) await this.#show(last)
  }

  async #show(href: string): Promise<void> {
    try {
      const state = new URLSearchParams(location.search).get('state')
      const answer = await ask(state && !href.includes('?') ? `${href}?state=${encodeURIComponent(state)}` : href)
      this.#inside.replaceChildren(answer.body)
    } catch {
      tell('The server does not answer.')
      return
    }
    if (this.#trail.at(-1) !== href) this.#trail.push(href)
    this.#back.hidden = this.#trail.length < 2
    if (!this.#dialog.open) this.#dialog.showModal()
    this.#dialog.scrollTop = 0
    this.#inside.querySelector<HTMLElement>('h1')?.focus()
  }

  async #submit(e: SubmitEvent): Promise<void> {
    const form = e.target
    if (!(form instanceof HTMLFormElement) || form.method !== 'post') return
    e.preventDefault()
    try {
      const answer = await send(form, e.submitter, new AbortController().signal)
      this.#inside.replaceChildren(answer.body)
      if (answer.ok) {
        this.#edited = true
        await this.#sheet()?.again()
      } else {
        this.#inside.querySelector<HTMLElement>('[aria-invalid=true]')?.focus()
      }
    } catch (err) {
      if (!aborted(err)) tell('The server does not answer. Nothing was changed.')
    }
  }

  #sheet(): Sheet | null {
    const sheet = document.querySelector('fettle-sheet')
    return sheet instanceof Sheet ? sheet : null
  }

  // The browser gives the focus back by itself, unless the sheet was replaced.
  #closed(): void {
    this.#inside.replaceChildren()
    if (!this.#edited || this.#from === null) return
    this.#edited = false
    document.querySelector<HTMLElement>(`a[data-fig="${CSS.escape(this.#from)}"]`)?.focus()
  }
}
