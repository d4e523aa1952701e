import { Sheet } from './sheet.js'

// What is seen of the drawing is kept while a pick replaces the page.
let kept: { box: [number, number, number, number]; size: string; way?: string | undefined } | null = null

// readable is how much smaller than drawn the lettering of 12 px may be.
const readable = 0.9

// Harness makes the drawn harness a view to move in: the wheel, two fingers and
// + − draw nearer, arrows go from thing to thing, and with a wire picked those to
// the sides walk its stations. The drawing is one stop of the Tab key. Its links
// work without this; with it they are followed without leaving the page.
export class Harness extends HTMLElement {
  #svg: SVGSVGElement | null = null
  #full: [number, number, number, number] = [0, 0, 1, 1]
  #box: [number, number, number, number] = [0, 0, 1, 1]
  #held = new Map<number, { x: number; y: number }>()
  #moved = false
  #links: SVGAElement[] = []
  #ends = new AbortController()

  connectedCallback(): void {
    this.#svg = this.querySelector('svg')
    const view = this.#svg?.viewBox.baseVal
    if (!this.#svg || !view) return
    this.#ends = new AbortController()
    const signal = this.#ends.signal
    this.#full = [view.x, view.y, view.width, view.height]
    this.classList.add('live')
    this.classList.toggle('tall', !this.dataset['at'])
    this.#links = [...this.#svg.querySelectorAll<SVGAElement>('a')]
    this.#rove(null)
    this.#tools()
    const size = this.#full.join(' ')
    this.#show(kept?.size === size ? kept.box : this.#first())
    if (this.dataset['at']) {
      if (kept?.way !== this.dataset['way']) this.#showWay()
      this.#toStation(Number(this.dataset['at']))
    }
    if (kept) kept.way = this.dataset['way']
    this.#svg.addEventListener('wheel', (e) => this.#wheel(e), { passive: false, signal })
    this.#svg.addEventListener('pointerdown', (e) => this.#down(e), { signal })
    this.#svg.addEventListener('pointermove', (e) => this.#move(e), { signal })
    for (const end of ['pointerup', 'pointercancel'] as const) this.#svg.addEventListener(end, (e) => this.#up(e), { signal })
    this.#svg.addEventListener('dragstart', (e) => e.preventDefault(), { signal })
    this.addEventListener('click', (e) => this.#click(e), { signal, capture: true })
    this.addEventListener('keydown', (e) => this.#key(e), { signal })
    this.addEventListener('focusin', (e) => this.#seen(e), { signal })
    document.addEventListener('keydown', (e) => this.#anywhere(e), { signal })
  }

  disconnectedCallback(): void {
    this.#ends.abort()
  }

  #tools(): void {
    if (this.querySelector('.tools')) return
    const tools = document.createElement('p')
    tools.className = 'tools'
    const button = (text: string, label: string, act: () => void): void => {
      const b = document.createElement('button')
      b.type = 'button'
      b.textContent = text
      b.setAttribute('aria-label', label)
      b.addEventListener('click', act)
      tools.append(b)
    }
    button('+', 'nearer', () => this.#zoom(0.8))
    button('−', 'farther', () => this.#zoom(1.25))
    button('▢', 'the whole harness', () => this.#show(this.#whole()))
    const help = document.createElement('p')
    help.className = 'help'
    help.textContent = this.dataset['at']
      ? '◂ ▸ walk the wire, ▴ ▾ go to other things, Enter opens the working, Esc lets go'
      : 'Press a thing for its wires. / finds, arrows go from thing to thing, + − nearer and farther, Shift with arrows moves'
    const bar = document.createElement('div')
    bar.className = 'below'
    bar.append(help, tools)
    this.append(bar)
  }

  // All of it, in the middle of the window.
  #whole(): [number, number, number, number] {
    const r = this.#svg!.getBoundingClientRect()
    const [x, y, fw, fh] = this.#full
    if (r.width === 0 || r.height === 0) return this.#full
    const w = Math.max(fw, (fh * r.width) / r.height)
    const h = (w * r.height) / r.width
    return [x - (w - fw) / 2, y - (h - fh) / 2, w, h]
  }

  // What is seen first: all of it where it can be read, else the place that the
  // harness begins at.
  #first(): [number, number, number, number] {
    const r = this.#svg!.getBoundingClientRect()
    const whole = this.#whole()
    if (r.width >= whole[2] * readable || r.width === 0) return whole
    const w = Math.min(this.#full[2], r.width)
    const h = (w * r.height) / r.width
    const begin = this.querySelector<SVGGraphicsElement>('[id$="-X1"]')?.getBBox()
    return [this.#full[0], begin ? begin.y + begin.height / 2 - h / 2 : this.#full[1], w, h]
  }

  // All stations of the picked wire, no smaller than can be read.
  #showWay(): void {
    const r = this.#svg!.getBoundingClientRect()
    const whole = this.#whole()
    if (whole[2] <= this.#full[2] * 1.3) {
      this.#show(whole)
      return
    }
    const parts = [...this.querySelectorAll<SVGGraphicsElement>('[id*="-stop-"]')].map((p) => p.getBBox())
    if (parts.length === 0 || r.width === 0) return
    const top = Math.min(...parts.map((b) => b.y)) - 50
    const bottom = Math.max(...parts.map((b) => b.y + b.height)) + 50
    const shape = r.height / r.width
    const w = Math.max(this.#full[2], Math.min((bottom - top) / shape, this.#full[2] * 1.45))
    const h = w * shape
    this.#show([this.#full[0] + (this.#full[2] - w) / 2, (top + bottom) / 2 - h / 2, w, h])
  }

  #show(box: [number, number, number, number]): void {
    const [fx, fy, fw, fh] = this.#full
    const w = Math.max(160, Math.min(box[2], Math.max(fw, fh) * 2))
    const h = (box[3] * w) / box[2]
    const x = Math.max(fx - w / 2, Math.min(fx + fw - w / 2, box[0]))
    const y = Math.max(fy - h / 2, Math.min(fy + fh - h / 2, box[1]))
    this.#box = [x, y, w, h]
    this.#svg?.setAttribute('viewBox', this.#box.map((v) => v.toFixed(1)).join(' '))
    this.classList.toggle('near', w < fw * 0.98)
    kept = { ...kept, box: this.#box, size: this.#full.join(' ') }
  }

  // One stop of the Tab key: the drawing, or the thing in it that was last at.
  #rove(link: SVGAElement | null): void {
    for (const a of this.#links) a.setAttribute('tabindex', a === link ? '0' : '-1')
    this.#svg?.setAttribute('tabindex', link ? '-1' : '0')
  }

  // The nearest thing in a direction from the one that has the focus, or from the
  // middle of what is seen; what lies aside counts thrice.
  #toward(dx: number, dy: number): void {
    const middle = (a: SVGAElement): [number, number] => ((r) => [r.x + r.width / 2, r.y + r.height / 2])(a.getBoundingClientRect())
    const at = document.activeElement instanceof SVGAElement && this.contains(document.activeElement) ? document.activeElement : null
    const r = this.#svg!.getBoundingClientRect()
    const [x, y] = at ? middle(at) : [r.x + r.width / 2, (Math.max(0, r.y) + Math.min(innerHeight, r.bottom)) / 2]
    let best: SVGAElement | null = null
    let least = Infinity
    for (const a of this.#links) {
      if (a === at) continue
      const [ax, ay] = middle(a)
      const on = (ax - x) * dx + (ay - y) * dy
      const far = Math.abs(on) + 3 * Math.abs((ax - x) * dy + (ay - y) * dx)
      if ((on > 2 || !at) && far < least) [best, least] = [a, far]
    }
    best?.focus()
  }

  #zoom(by: number, at?: { clientX: number; clientY: number }): void {
    const [x, y, w, h] = this.#box
    const r = this.#svg!.getBoundingClientRect()
    const u = at ? (at.clientX - r.x) / r.width : 0.5
    const v = at ? (at.clientY - r.y) / r.height : 0.5
    this.#show([x + w * u * (1 - by), y + h * v * (1 - by), w * by, h * by])
  }

  #pan(dx: number, dy: number): void {
    const r = this.#svg!.getBoundingClientRect()
    this.#show([this.#box[0] - (dx * this.#box[2]) / r.width, this.#box[1] - (dy * this.#box[3]) / r.height, this.#box[2], this.#box[3]])
  }

  // The wheel moves the page unless Ctrl is held, or a window on a picked way has
  // the focus.
  #wheel(e: WheelEvent): void {
    if (!e.ctrlKey && (this.classList.contains('tall') || !this.contains(document.activeElement))) return
    e.preventDefault()
    this.#zoom(Math.exp(Math.max(-60, Math.min(60, e.deltaY)) / 240), e)
  }

  #down(e: PointerEvent): void {
    this.#held.set(e.pointerId, { x: e.clientX, y: e.clientY })
    if (this.#held.size === 1) this.#moved = false
  }

  #move(e: PointerEvent): void {
    const was = this.#held.get(e.pointerId)
    if (!was) return
    const others = [...this.#held].filter(([id]) => id !== e.pointerId).map(([, p]) => p)
    if (!this.#moved && others.length === 0 && Math.hypot(e.clientX - was.x, e.clientY - was.y) < 4) return
    if (!this.#moved) {
      this.#moved = true
      this.classList.add('held')
      this.#svg?.setPointerCapture(e.pointerId)
    }
    const other = others[0]
    if (other) {
      const before = Math.hypot(was.x - other.x, was.y - other.y)
      const now = Math.hypot(e.clientX - other.x, e.clientY - other.y)
      if (before > 0 && now > 0) this.#zoom(before / now, { clientX: (e.clientX + other.x) / 2, clientY: (e.clientY + other.y) / 2 })
    } else {
      this.#pan(e.clientX - was.x, e.clientY - was.y)
    }
    this.#held.set(e.pointerId, { x: e.clientX, y: e.clientY })
  }

  #up(e: PointerEvent): void {
    this.#held.delete(e.pointerId)
    if (this.#held.size === 0) this.classList.remove('held')
  }

  // A link that the drawing was dragged by is not followed.
  #click(e: MouseEvent): void {
    const link = e.target instanceof Element ? e.target.closest('svg a') : null
    if (!link) return
    if (this.#moved) {
      e.preventDefault()
      e.stopPropagation()
      return
    }
    const href = link.getAttribute('href')
    if (!href?.startsWith('/loom?') || e.button !== 0 || e.ctrlKey || e.metaKey || e.shiftKey || e.altKey) return
    e.preventDefault()
    this.#go(href)
  }

  #go(href: string): void {
    const sheet = this.closest('fettle-sheet')
    if (sheet instanceof Sheet) void sheet.go(href)
    else location.href = href
  }

  // step leads to a station of the picked wire.
  #step(by: number): boolean {
    const at = Number(this.dataset['at'])
    const to = document.querySelector<HTMLAnchorElement>(`#station-${at + by} a`)
    const href = to?.getAttribute('href')
    if (!at || !href) return false
    this.#go(href)
    return true
  }

  #key(e: KeyboardEvent): void {
    if (e.ctrlKey || e.metaKey || e.altKey || e.target instanceof HTMLButtonElement) return
    const arrows: Record<string, [number, number, number]> = { ArrowLeft: [60, 0, -1], ArrowRight: [-60, 0, 1], ArrowUp: [0, 60, -1], ArrowDown: [0, -60, 1] }
    const arrow = arrows[e.key]
    if (arrow && e.shiftKey) this.#pan(arrow[0], arrow[1])
    else if (arrow && this.dataset['at'] && arrow[1] === 0) this.#step(arrow[2])
    else if (arrow) this.#toward(-Math.sign(arrow[0]), -Math.sign(arrow[1]))
    else if (e.key === '+' || e.key === '=') this.#zoom(0.8)
    else if (e.key === '-' || e.key === '−') this.#zoom(1.25)
    else if (e.key === 'Home') this.#show(this.#whole())
    else if (e.key === 'Enter' && e.target === this.#svg && this.dataset['at']) document.querySelector<HTMLElement>(`#station-${this.dataset['at']} a[data-fig]`)?.click()
    else if (e.key === 'Escape' && this.dataset['letGo']) this.#go(this.dataset['letGo'])
    else return
    e.preventDefault()
  }

  #anywhere(e: KeyboardEvent): void {
    const at = document.activeElement
    if (e.key !== '/' || e.ctrlKey || e.metaKey || e.altKey || at instanceof HTMLInputElement || at instanceof HTMLSelectElement || at instanceof HTMLTextAreaElement) return
    const find = document.querySelector<HTMLInputElement>('#find')
    if (!find) return
    e.preventDefault()
    find.focus()
    find.select()
  }

  // What has the focus comes into sight.
  #seen(e: FocusEvent): void {
    if (!(e.target instanceof SVGAElement)) return
    this.#rove(e.target)
    this.#bring(e.target)
  }

  #toStation(n: number): void {
    const stop = this.querySelector<SVGGraphicsElement>(`[id$="-stop-${n}"]`)
    if (stop) this.#bring(stop, 0)
  }

  #bring(part: SVGGraphicsElement, edge = Math.min(this.#box[2], this.#box[3]) / 10): void {
    const b = part.getBBox()
    const [x, y, w, h] = this.#box
    if (this.classList.contains('tall') && !this.classList.contains('near')) {
      if (edge > 0) part.scrollIntoView({ block: 'nearest' })
      return
    }
    if (b.x > x + edge && b.x + b.width < x + w - edge && b.y > y + edge && b.y + b.height < y + h - edge) return
    this.#show([w > this.#full[2] * 0.95 ? x : b.x + b.width / 2 - w / 2, b.y + b.height / 2 - h / 2, w, h])
  }
}
