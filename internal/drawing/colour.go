package drawing

import "math"

// RGB is a colour in sRGB, 8 bits each.
type RGB struct{ R, G, B uint8 }

// screen is the light palette of the page, used where no style sheet is.
var screen = [...]RGB{
	Paper: {0xfb, 0xfa, 0xf6}, Ink: {0x1b, 0x1d, 0x1f}, Soft: {0x5a, 0x5d, 0x5b}, Grey: {0x85, 0x85, 0x7c},
	Rule: {0xd3, 0xd0, 0xc6}, Accent: {0xb3, 0x26, 0x1e}, Black: {0, 0, 0}, White: {255, 255, 255},
}

// printed is the palette of paper, where the accent is black and doubled by an
// underline.
var printed = [...]RGB{
	Paper: {255, 255, 255}, Ink: {0, 0, 0}, Soft: {0x33, 0x33, 0x33}, Grey: {0x66, 0x66, 0x66},
	Rule: {0xbb, 0xbb, 0xbb}, Accent: {0, 0, 0}, Black: {0, 0, 0}, White: {255, 255, 255},
}

// cividisStops are places on the published scale of 256 colours.
var cividisStops = []struct{ at, r, g, b float64 }{
	{0, .000000, .135112, .304751},
	{8, .000000, .157932, .357521},
	{16, .000000, .178802, .414764},
	{20, .000000, .188769, .439563},
	{24, .017852, .198528, .441248},
	{28, .068968, .209372, .438863},
	{32, .103401, .220406, .435790},
	{40, .154261, .242475, .430120},
	{48, .195057, .264372, .425924},
	{64, .263738, .307831, .422789},
	{80, .324250, .351289, .426250},
	{96, .380830, .395164, .435653},
	{112, .435168, .439763, .451134},
	{120, .461616, .462405, .461969},
	{128, .488697, .485318, .471008},
	{144, .547840, .531895, .471704},
	{160, .609105, .579816, .463638},
	{176, .671991, .629316, .448018},
	{192, .736488, .680629, .424028},
	{208, .802667, .733978, .390153},
	{224, .870717, .789572, .343333},
	{240, .941147, .847530, .275815},
	{248, .977780, .877281, .227954},
	{252, .994847, .892954, .203445},
	{255, .995737, .909344, .217772},
}

// CividisAt returns the colour of the cividis scale at a fraction of it.
//
//	c = a + (b − a) (255 f − i) / (j − i)
//
// where a and b are the published colours at i and j, the two of our 25 stops that
// enclose f.
//
// Valid: 0 … 1; beyond them the end colours stand, as a table with fixed ends
// shows them; what is no number is white.
// Accuracy: 2 of 255 levels in each channel.
// Source: Nuñez, Anderton, Renslow, "Optimizing colormaps with consideration for color vision deficiency to enable accurate interpretation of scientific data", PLoS ONE 13(7), e0199239, 2018, table S1.
// Errors: none.
func CividisAt(levelFrac float64) RGB {
	if math.IsNaN(levelFrac) {
		return RGB{255, 255, 255}
	}
	x := math.Max(0, math.Min(255, 255*levelFrac))
	i := 1
	for cividisStops[i].at < x {
		i++
	}
	a, b := cividisStops[i-1], cividisStops[i]
	t := (x - a.at) / (b.at - a.at)
	mix := func(p, q float64) uint8 { return uint8(math.Round(255 * (p + t*(q-p)))) }
	return RGB{mix(a.r, b.r), mix(a.g, b.g), mix(a.b, b.b)}
}

// greyAt is the grey at a level: 0 paper white, 1 black.
func greyAt(levelFrac float64) RGB {
	v := uint8(math.Round(255 * (1 - math.Max(0, math.Min(1, levelFrac)))))
	return RGB{v, v, v}
}

// LuminanceRatio returns the relative luminance of a colour, 0 black … 1 white.
//
//	L = 0.2126 R + 0.7152 G + 0.0722 B
//
// where R, G, B are the linearised channels: c/12.92 up to 0.04045, else
// ((c + 0.055)/1.055)^2.4.
//
// Valid: every sRGB colour.
// Accuracy: exact by definition.
// Source: W3C, Web Content Accessibility Guidelines 2.2, 2023, "relative luminance"; IEC 61966-2-1:1999.
// Errors: none.
func (c RGB) LuminanceRatio() float64 {
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
}

// ContrastRatio returns the contrast of two colours, 1 … 21.
//
//	(L₁ + 0.05) / (L₂ + 0.05)
//
// where L₁ is the lighter of the two luminances.
//
// Valid: every pair of sRGB colours.
// Accuracy: exact by definition.
// Source: W3C, Web Content Accessibility Guidelines 2.2, 2023, "contrast ratio".
// Errors: none.
func ContrastRatio(a, b RGB) float64 {
	la, lb := a.LuminanceRatio(), b.LuminanceRatio()
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

// On is the role of figures that stand on a fill: black or white by contrast on
// a shaded cell, ink elsewhere.
func (f Fill) On() Role {
	if f.Shade == Plain {
		return Ink
	}
	c := f.colour(&screen)
	if ContrastRatio(c, RGB{}) >= ContrastRatio(c, RGB{255, 255, 255}) {
		return Black
	}
	return White
}

// colour is the fill's colour in a palette.
func (f Fill) colour(palette *[9]RGB) RGB {
	switch f.Shade {
	case Cividis:
		return CividisAt(f.LevelFrac)
	case GreyTo:
		return greyAt(f.LevelFrac)
	}
	return palette[f.Role]
}

func (f Fill) open() bool { return f.Shade == Plain && f.Role == None }
