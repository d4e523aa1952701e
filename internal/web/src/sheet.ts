import { aborted, ask, send, tell, type Answer } from './answer.js'

// Sheet sends the forms of a page and puts the answer in place of the sheet,
// with the focus and the place on the page kept.
export class Sheet extends HTMLElement {
  #under: AbortController | null = null
  #sent = new WeakSet<HTMLFormElement>() // Enter in a changed field asks twice

  connectedCallback(): void {
    this.addEventListener('submit', (e) => this.#submit(e))
    this.addEventListener('change', (e) => this.#changed(e))
    document.addEventListener('keydown', (e) => this.#key(e))
    addEventListener('popstate', () => location.reload())
  }

  // again fetches the sheet anew, after an edit that was made beside it.
  async again(): Promise<void> {
    await this.#take((signal) => ask(location.pathname + location.search, { signal }))
  }

  // go follows a link to this sheet without leaving it: what has the focus keeps
  // it, and Back leads back.
  async go(href: string): Promise<void> {
    const url = new URL(href, location.href)
    await this.#take((signal) => ask(url.pathname + url.search, { signal }))
    history.pushState(null, '', href)
  }

  #submit(e: SubmitEvent): void {
    const form = e.target
    if (!(form instanceof HTMLFormElement) || form.method !== 'post') return
    e.preventDefault()
    if (this.#sent.has(form)) return
    this.#sent.add(form)
    void this.#take((signal) => send(form, e.submitter, signal), form)
  }

  // A choice is made by choosing; a text when its field is left.
  #changed(e: Event): void {
    const field = e.target
    if (!(field instanceof HTMLSelectElement || field instanceof HTMLInputElement)) return
    if (field.form?.classList.contains('field') || field.form?.classList.contains('pick')) field.form.requestSubmit()
  }

  #key(e: KeyboardEvent): void {
    if (!(e.ctrlKey || e.metaKey) || e.altKey || e.key.toLowerCase() !== 'z') return
    const at = document.activeElement
    if (at instanceof HTMLInputElement && at.value !== at.defaultValue) return // the field's own undo
    const button = this.querySelector<HTMLButtonElement>(e.shiftKey ? '#redo' : '#undo')
    if (!button) return
    e.preventDefault()
    if (!button.disabled) button.click()
  }

  async #take(get: (signal: AbortSignal) => Promise<Answer>, form?: HTMLFormElement): Promise<void> {
    this.#under?.abort()
    const under = new AbortController()
    this.#under = under
    const far = document.createElement('fettle-filling')
    far.addEventListener('end', () => under.abort())
    const waits = setTimeout(() => {
      this.setAttribute('aria-busy', 'true')
      this.append(far)
    }, 150)
    try {
      const answer = await get(under.signal)
      this.#swap(answer, form)
    } catch (e) {
      if (!aborted(e)) tell('The server does not answer. Nothing was changed on the page.')
      else if (this.#under === under) tell('Ended. Nothing was changed.')
    } finally {
      clearTimeout(waits)
      far.remove()
      if (form) this.#sent.delete(form)
      if (this.#under === under) this.removeAttribute('aria-busy')
    }
  }

  #swap(answer: Answer, form?: HTMLFormElement): void {
    const part = answer.body.querySelector('#part')
    const old = this.querySelector('#part')
    if (!(part instanceof HTMLElement) || !old) {
      location.reload()
      return
    }
    const kept = focusOf(this)
    const open = [...this.querySelectorAll('details[open]')].map((d) => d.querySelector('summary')?.textContent?.replace(/\d+/, ''))
    old.replaceWith(part)
    for (const d of part.querySelectorAll('details')) {
      if (open.includes(d.querySelector('summary')?.textContent?.replace(/\d+/, ''))) d.open = true
    }
    const wrong = part.querySelector<HTMLElement>('[aria-invalid=true]')
    const back: HTMLElement | SVGElement | null = wrong ?? (kept ? (document.getElementById(kept) as HTMLElement | SVGElement | null) : null)
    if (back) back.focus({ preventScroll: !wrong })
    else if (form) part.querySelector<HTMLElement>('#main')?.focus({ preventScroll: true })
    const said = part.querySelector('.no, .notice')?.textContent
    tell(answer.ok ? (part.dataset['verdict'] ?? '') : `Not changed. ${said ?? ''}`)
  }
}

// focusOf is the id of what has the focus within an element.
function focusOf(within: HTMLElement): string {
  const at = document.activeElement
  if (at instanceof SVGElement && within.contains(at)) return (at.closest('svg') ?? at).id
  return at instanceof HTMLElement && within.contains(at) ? at.id : ''
}
