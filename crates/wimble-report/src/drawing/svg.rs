//! A small writer of SVG: only the elements that our drawings use.

use super::ink;
use super::lean::lean;
use std::fmt::Write as _;
use wimble_model::Verdict;

/// A picture being drawn. Coordinates are units of the picture, y down.
#[derive(Debug, Default)]
pub(crate) struct Svg {
    body: String,
}

/// Where a text stands against its point.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// How a line or outline is drawn.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pen {
    pub(crate) tone: &'static str,
    pub(crate) width: f64,
    pub(crate) dash: Option<&'static str>,
}

impl Pen {
    pub(crate) const fn outline(tone: &'static str) -> Self {
        Self { tone, width: ink::OUTLINE, dash: None }
    }

    pub(crate) const fn fine(tone: &'static str) -> Self {
        Self { tone, width: ink::FINE, dash: None }
    }

    pub(crate) const fn dashed(mut self, dash: &'static str) -> Self {
        self.dash = Some(dash);
        self
    }

    fn attributes(self) -> String {
        let dash = self.dash.map_or(String::new(), |d| format!(" stroke-dasharray=\"{d}\""));
        format!(" stroke=\"{}\" stroke-width=\"{}\"{dash}", self.tone, self.width)
    }
}

impl Svg {
    /// Writing to a `String` cannot fail; the result is dropped in this one place.
    fn put(&mut self, text: std::fmt::Arguments<'_>) {
        let _ = self.body.write_fmt(text);
    }

    pub(crate) fn line(&mut self, from: [f64; 2], to: [f64; 2], pen: Pen) {
        self.put(format_args!(
            "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"{}/>\n",
            n(from[0]),
            n(from[1]),
            n(to[0]),
            n(to[1]),
            pen.attributes()
        ));
    }

    /// A rectangle by its least corner and size; `fill` is a tone, a pattern (`url(#…)`) or `none`.
    pub(crate) fn rectangle(&mut self, at: [f64; 2], size: [f64; 2], fill: &str, pen: Option<Pen>) {
        let stroke = pen.map_or(String::new(), Pen::attributes);
        self.put(format_args!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{fill}\"{stroke}/>\n",
            n(at[0]),
            n(at[1]),
            n(size[0].max(0.0)),
            n(size[1].max(0.0))
        ));
    }

    pub(crate) fn circle(&mut self, centre: [f64; 2], radius: f64, fill: &str, pen: Option<Pen>) {
        self.ellipse(centre, [radius, radius], fill, pen);
    }

    pub(crate) fn ellipse(&mut self, centre: [f64; 2], r: [f64; 2], fill: &str, pen: Option<Pen>) {
        let stroke = pen.map_or(String::new(), Pen::attributes);
        self.put(format_args!(
            "<ellipse cx=\"{}\" cy=\"{}\" rx=\"{}\" ry=\"{}\" fill=\"{fill}\"{stroke}/>\n",
            n(centre[0]),
            n(centre[1]),
            n(r[0]),
            n(r[1])
        ));
    }

    pub(crate) fn polygon(&mut self, points: &[[f64; 2]], fill: &str, pen: Option<Pen>) {
        let stroke = pen.map_or(String::new(), Pen::attributes);
        let ring: Vec<String> = points.iter().map(|p| format!("{},{}", n(p[0]), n(p[1]))).collect();
        self.put(format_args!(
            "<polygon points=\"{}\" fill=\"{fill}\"{stroke}/>\n",
            ring.join(" ")
        ));
    }

    /// Several rings as one area, so that no seams show between them.
    pub(crate) fn rings(&mut self, rings: &[Vec<[f64; 2]>], fill: &str) {
        let ring = |ring: &Vec<[f64; 2]>| {
            let points: Vec<String> =
                ring.iter().map(|p| format!("{} {}", n(p[0]), n(p[1]))).collect();
            format!("M{}Z", points.join("L"))
        };
        let path: Vec<String> = rings.iter().map(ring).collect();
        if !path.is_empty() {
            self.put(format_args!("<path d=\"{}\" fill=\"{fill}\"/>\n", path.concat()));
        }
    }

    /// Draws only what falls inside a ring.
    pub(crate) fn clipped(&mut self, ring: &[[f64; 2]], draw: impl FnOnce(&mut Self)) {
        let id = format!("inside-{}", self.body.len());
        self.put(format_args!("<clipPath id=\"{id}\">"));
        self.polygon(ring, ink::INK, None);
        self.put(format_args!("</clipPath>\n<g clip-path=\"url(#{id})\">\n"));
        draw(self);
        self.put(format_args!("</g>\n"));
    }

    /// Strong text on a ground of paper, for places where lines cross.
    pub(crate) fn note(&mut self, at: [f64; 2], anchor: Anchor, tone: &str, text: &str) {
        let width = 1.04 * width_of(text) + 6.0;
        let left = match anchor {
            Anchor::Start => at[0] - 3.0,
            Anchor::Middle => at[0] - 0.5 * width,
            Anchor::End => at[0] - width + 3.0,
        };
        self.rectangle([left, at[1] - ink::LETTER], [width, ink::LINE], ink::PAPER, None);
        self.strong(at, anchor, tone, text);
    }

    pub(crate) fn text(&mut self, at: [f64; 2], anchor: Anchor, tone: &str, text: &str) {
        self.letter(at, anchor, tone, ink::LETTER, "400", text);
    }

    pub(crate) fn strong(&mut self, at: [f64; 2], anchor: Anchor, tone: &str, text: &str) {
        self.letter(at, anchor, tone, ink::LETTER, "600", text);
    }

    pub(crate) fn heading(&mut self, at: [f64; 2], text: &str) {
        self.letter(at, Anchor::Start, ink::INK, ink::HEADING, "600", text);
    }

    fn letter(
        &mut self,
        at: [f64; 2],
        anchor: Anchor,
        tone: &str,
        size: f64,
        weight: &str,
        text: &str,
    ) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        self.put(format_args!(
            "<text x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\" font-size=\"{size}\" \
             font-weight=\"{weight}\" fill=\"{tone}\">{}</text>\n",
            n(at[0]),
            n(at[1]),
            escape(text)
        ));
    }

    /// The shape of a verdict, about as large as a letter, round `centre`.
    pub(crate) fn mark(&mut self, centre: [f64; 2], verdict: Verdict) {
        let tone = ink::tone(verdict);
        let [x, y] = centre;
        let r = 4.5;
        match verdict {
            Verdict::Pass => self.rectangle([x - r, y - r], [2.0 * r, 2.0 * r], tone, None),
            Verdict::Fail => {
                let pen = Pen { tone, width: 2.4, dash: None };
                self.line([x - r, y - r], [x + r, y + r], pen);
                self.line([x - r, y + r], [x + r, y - r], pen);
            }
            Verdict::Refer => {
                self.circle(centre, r + 1.5, "none", Some(Pen::outline(tone)));
                self.letter([x, y + 3.6], Anchor::Middle, tone, 10.0, "600", "?");
            }
            Verdict::Unknown => self.rectangle(
                [x - r, y - r],
                [2.0 * r, 2.0 * r],
                "none",
                Some(Pen::outline(tone).dashed("2 2")),
            ),
        }
    }

    /// Puts another picture under what is drawn, its top at `y`.
    pub(crate) fn under(&mut self, y: f64, other: &Self) {
        self.put(format_args!("<g transform=\"translate(0 {})\">\n{}</g>\n", n(y), other.body));
    }

    /// What is drawn until [`Self::close_link`] leads to a place of the same page; `title` says
    /// where to. `words` go into its data attribute, for the page's filters.
    pub(crate) fn open_link(&mut self, target: &str, title: &str) {
        self.put(format_args!("<a href=\"#{}\"><title>{}</title>", escape(target), escape(title)));
    }

    pub(crate) fn close_link(&mut self) {
        self.put(format_args!("</a>\n"));
    }

    /// The picture as a part of a page that has the style and the hatchings (see `lean`).
    pub(crate) fn inline(self, width: f64, height: f64, title: &str) -> String {
        format!(
            "<svg viewBox=\"0 0 {w} {h}\" role=\"img\" aria-label=\"{}\">\n{}</svg>",
            escape(title),
            lean(&self.body),
            w = n(width),
            h = n(height),
        )
    }

    /// The hatchings, for a page with inline pictures.
    pub(crate) const fn hatchings() -> &'static str {
        PATTERNS
    }

    /// Closes the picture: `width` × `height` units, a title for those who cannot see it.
    pub(crate) fn finish(self, width: f64, height: f64, title: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" \
             height=\"{h}\" role=\"img\" font-family=\"{FONTS}\" font-variant-numeric=\"tabular-nums\">\n\
             <title>{}</title>\n{PATTERNS}<rect width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n{}</svg>\n",
            escape(title),
            ink::PAPER,
            self.body,
            w = n(width),
            h = n(height),
        )
    }
}

/// The reader's own sans serif; pictures made here use the font that is shipped.
const FONTS: &str = "'Open Sans', system-ui, sans-serif";

/// Hatching: `bearing` for what carries, `allowed` for where a cut may be.
const PATTERNS: &str = "<defs>\
<pattern id=\"bearing\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
<line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"6\" stroke=\"#1F2A33\" stroke-width=\"1.2\"/></pattern>\
<pattern id=\"allowed\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(-45)\">\
<line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"5\" stroke=\"#2F6F8F\" stroke-width=\"1.6\"/></pattern></defs>\n";

/// A coordinate at fixed precision, without needless digits; what is not finite prints as 0.
fn n(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Text made harmless for XML: markup escaped, characters that XML forbids replaced, and those
/// that turn the direction of writing.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\u{0}'..='\u{8}'
            | '\u{b}'
            | '\u{c}'
            | '\u{e}'..='\u{1f}'
            | '\u{fffe}'
            | '\u{ffff}'
            | '\u{200e}'
            | '\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}' => {
                out.push('\u{fffd}');
            }
            c => out.push(c),
        }
    }
    out
}

/// About how wide a text is in the shipped font, units of the picture. A fair guess serves: it
/// only keeps labels apart.
pub(crate) fn width_of(text: &str) -> f64 {
    text.chars().map(|c| if c.is_ascii() { 0.56 } else { 0.75 }).sum::<f64>() * ink::LETTER
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_from_a_model_cannot_break_out() {
        assert_eq!(escape("<script>\"&\u{1}"), "&lt;script&gt;&quot;&amp;\u{fffd}");
    }

    #[test]
    fn coordinates_print_short_and_finite() {
        assert_eq!([n(1.0), n(0.125), n(-0.001), n(f64::NAN)], ["1", "0.12", "0", "0"]);
    }
}
