// Walk makes the links of a drawing one stop for the Tab key; arrows go on to the
// nearest link that way, Home and End to the first and the last.
export class Walk extends HTMLElement {
  connectedCallback(): void {
    const links = this.#links()
    const start = Math.max(0, links.findIndex((a) => a.hasAttribute('aria-current')))
    links.forEach((a, i) => a.setAttribute('tabindex', i === start ? '0' : '-1'))
    this.addEventListener('keydown', (e) => this.#key(e))
    this.addEventListener('focusin', (e) => {
      const at = e.target
      for (const a of this.#links()) a.setAttribute('tabindex', a === at ? '0' : '-1')
    })
  }

  #links(): SVGAElement[] {
    return [...this.querySelectorAll<SVGAElement>('svg a')]
  }

  #key(e: KeyboardEvent): void {
    const at = document.activeElement
    const links = this.#links()
    if (!(at instanceof SVGAElement) || e.ctrlKey || e.metaKey || e.altKey) return
    const steps: Record<string, [number, number]> = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }
    const step = steps[e.key]
    const next = step ? nearest(at, links, step) : e.key === 'Home' ? links[0] : e.key === 'End' ? links.at(-1) : undefined
    if (!step && !next) return
    e.preventDefault()
    next?.focus()
  }
}

// nearest is the link whose middle lies nearest ahead; what lies aside counts
// four times.
function nearest(from: SVGAElement, links: SVGAElement[], [dx, dy]: [number, number]): SVGAElement | undefined {
  const middle = (a: SVGAElement): [number, number] => {
    const r = a.getBoundingClientRect()
    return [r.x + r.width / 2, r.y + r.height / 2]
  }
  const [x, y] = middle(from)
  let best: SVGAElement | undefined
  let least = Infinity
  for (const a of links) {
    const [u, v] = middle(a)
    const ahead = (u - x) * dx + (v - y) * dy
    const aside = Math.abs((u - x) * dy) + Math.abs((v - y) * dx)
    if (a === from || ahead < 2) continue
    const cost = ahead + 4 * aside
    if (cost < least) [best, least] = [a, cost]
  }
  return best
}
