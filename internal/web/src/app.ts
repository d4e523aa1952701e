// The pages work without any of this. With it an edit is answered in place, a
// figure opens at the side of its sheet, and chances come in when they are drawn.
import { Chances } from './chances.js'
import { Filling } from './filling.js'
import { Grid } from './grid.js'
import { Harness } from './harness.js'
import { Sheet } from './sheet.js'
import { Start } from './start.js'
import { Walk } from './walk.js'
import { Working } from './working.js'

customElements.define('fettle-sheet', Sheet)
customElements.define('fettle-working', Working)
customElements.define('fettle-chances', Chances)
customElements.define('fettle-filling', Filling)
customElements.define('fettle-grid', Grid)
customElements.define('fettle-start', Start)
customElements.define('fettle-walk', Walk)
customElements.define('fettle-harness', Harness)
