import { aborted, ask, send, tell } from './answer.js'

// Grid moves a pick over the cells of a table and begins changes by typing; the
// form below it makes them, and works without this.
export class Grid extends HTMLElement {
  #row = 0
  #col = 0
  #fromRow = 0
  #fromCol = 0
  #under = new Map<string, AbortController>()
  #waits = new Map<string, number>()

  connectedCallback(): void {
    const table = this.querySelector('table')
    if (!table) return
    table.addEventListener('keydown', (e) => this.#key(e))
    table.addEventListener('pointerdown', (e) => this.#point(e))
    this.addEventListener('copy', (e) => this.#copy(e))
    this.addEventListener('paste', (e) => this.#paste(e))
    const form = this.querySelector<HTMLFormElement>('#change')
    form?.addEventListener('keydown', (e) => {
      if (e.key !== 'Escape') return
      for (const field of form.querySelectorAll<HTMLInputElement | HTMLTextAreaElement>('input:not([type=hidden]), textarea')) field.value = ''
      const effect = this.querySelector('#effect')
      if (effect) effect.textContent = ''
      this.#show(true)
    })
    this.querySelector('#change-text')?.addEventListener('input', () => this.#soon('try', () => this.#try()))
    this.#restore()
  }

  // The form says which cells were changed last; the pick goes on from there.
  #restore(): void {
    const value = (name: string): number => Number(this.querySelector<HTMLSelectElement>(`select[name=${name}]`)?.value ?? 0)
    this.#fromRow = value('r0')
    this.#row = value('r1')
    this.#fromCol = value('c0')
    this.#col = value('c1')
    this.#show(false)
  }

  get #rows(): number {
    return Number(this.dataset['rows'])
  }

  get #cols(): number {
    return Number(this.dataset['cols'])
  }

  #cell(row: number, col: number): HTMLElement | null {
    return this.querySelector(`#c-${row}-${col}`)
  }

  #key(e: KeyboardEvent): void {
    const steps: Record<string, [number, number]> = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }
    const step = steps[e.key]
    if (step) {
      this.#move(this.#row + step[0], this.#col + step[1], e.shiftKey)
    } else if (e.key === 'Home' || e.key === 'End') {
      this.#move(this.#row, e.key === 'Home' ? 0 : this.#cols - 1, e.shiftKey)
    } else if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === 'a') {
      this.#fromRow = 0
      this.#fromCol = 0
      this.#move(this.#rows - 1, this.#cols - 1, true)
    } else if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === 'z') {
      this.querySelector<HTMLButtonElement>(e.shiftKey ? '#map-redo' : '#map-undo')?.click()
      e.stopPropagation()
    } else if (!e.ctrlKey && !e.metaKey && !e.altKey && /^[0-9+\-−×*=.]$/.test(e.key)) {
      this.#begin()
      return // the sign itself is typed into the field that has the focus now
    } else {
      return
    }
    e.preventDefault()
  }

  #move(row: number, col: number, extend: boolean): void {
    this.#row = Math.max(0, Math.min(this.#rows - 1, row))
    this.#col = Math.max(0, Math.min(this.#cols - 1, col))
    if (!extend) {
      this.#fromRow = this.#row
      this.#fromCol = this.#col
    }
    this.#show(true)
  }

  #point(e: PointerEvent): void {
    const cell = e.target instanceof Element ? e.target.closest('td') : null
    const place = cell?.id.match(/^c-(\d+)-(\d+)$/)
    if (!place) return
    this.#move(Number(place[1]), Number(place[2]), e.shiftKey)
  }

  // The first sign of a change goes to its field, and typing goes on there.
  #begin(): void {
    const field = this.querySelector<HTMLInputElement>('#change-text')
    if (!field) return
    field.value = ''
    field.focus()
  }

  // What is asked of the server while typing or walking waits a little for more.
  #soon(what: string, act: () => Promise<void>): void {
    clearTimeout(this.#waits.get(what))
    this.#waits.set(what, setTimeout(() => void act(), 150))
  }

  // The effect of a change is shown before it is made.
  async #try(): Promise<void> {
    const form = this.querySelector<HTMLFormElement>('#change')
    const field = this.querySelector<HTMLInputElement>('#change-text')
    const effect = this.querySelector('#effect')
    if (!form || !field || !effect || field.value.trim() === '') return
    await this.#fetch('try', (signal) => send(form, this.querySelector('#try'), signal), (body) => {
      effect.textContent = body.querySelector('#effect')?.textContent ?? ''
    })
  }

  // The sections follow the cell that the keyboard is on.
  async #sections(): Promise<void> {
    const old = document.getElementById('pictures')
    const at = `${this.#row}-${this.#col}`
    if (!old?.dataset['at'] || old.dataset['at'] === at) return
    const url = new URL(location.href)
    const name = this.querySelector<HTMLInputElement>('input[name=map]')?.value
    if (name) url.searchParams.set('map', name)
    url.searchParams.set('at', at)
    await this.#fetch('sections', (signal) => ask(url.pathname + url.search, { signal }), (body) => {
      const fresh = body.querySelector('#pictures')
      if (fresh) old.replaceWith(fresh)
    })
  }

  async #fetch(what: string, get: (signal: AbortSignal) => Promise<{ body: DocumentFragment }>, put: (body: DocumentFragment) => void): Promise<void> {
    this.#under.get(what)?.abort()
    const under = new AbortController()
    this.#under.set(what, under)
    try {
      put((await get(under.signal)).body)
    } catch (e) {
      if (!aborted(e)) tell('The server does not answer.')
    }
  }

  #show(focus: boolean): void {
    const [r0, r1] = [Math.min(this.#fromRow, this.#row), Math.max(this.#fromRow, this.#row)]
    const [c0, c1] = [Math.min(this.#fromCol, this.#col), Math.max(this.#fromCol, this.#col)]
    for (let r = 0; r < this.#rows; r++) {
      for (let c = 0; c < this.#cols; c++) {
        const cell = this.#cell(r, c)
        if (!cell) continue
        const picked = r >= r0 && r <= r1 && c >= c0 && c <= c1
        const at = r === this.#row && c === this.#col
        cell.classList.toggle('picked', picked)
        cell.classList.toggle('at', at)
        cell.tabIndex = at ? 0 : -1
        cell.setAttribute('aria-selected', String(picked))
      }
    }
    for (const [name, value] of [['r0', r0], ['r1', r1], ['c0', c0], ['c1', c1]] as const) {
      const field = this.querySelector<HTMLSelectElement>(`select[name=${name}]`)
      if (field) field.value = String(value)
    }
    if (!focus) return
    this.#cell(this.#row, this.#col)?.focus()
    this.#soon('sections', () => this.#sections())
  }

  // Pasted cells wait in their field for the reason.
  #paste(e: ClipboardEvent): void {
    if (!(document.activeElement instanceof HTMLTableCellElement) || !this.contains(document.activeElement)) return
    const field = this.querySelector<HTMLTextAreaElement>('textarea[name=cells]')
    const text = e.clipboardData?.getData('text/plain') ?? ''
    if (!field || text === '') return
    e.preventDefault()
    field.value = text
    field.closest('details')?.setAttribute('open', '')
    this.querySelector<HTMLInputElement>('input[name=reason]')?.focus()
    tell('The cells wait below: give a reason and put them in.')
  }

  #copy(e: ClipboardEvent): void {
    if (!(document.activeElement instanceof HTMLTableCellElement) || !this.contains(document.activeElement)) return
    const [r0, r1] = [Math.min(this.#fromRow, this.#row), Math.max(this.#fromRow, this.#row)]
    const [c0, c1] = [Math.min(this.#fromCol, this.#col), Math.max(this.#fromCol, this.#col)]
    const lines: string[] = []
    for (let r = r0; r <= r1; r++) {
      const line: string[] = []
      for (let c = c0; c <= c1; c++) line.push((this.#cell(r, c)?.textContent ?? '').replace(/[()]/g, '').replace('−', '-'))
      lines.push(line.join('\t'))
    }
    e.clipboardData?.setData('text/plain', lines.join('\n'))
    e.preventDefault()
    tell(`${(r1 - r0 + 1) * (c1 - c0 + 1)} cells copied`)
  }
}
