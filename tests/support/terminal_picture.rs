//! Lines of a terminal with their tones, as an SVG.

use std::fmt::Write;

/// Width of a column and height of a line, in pixels at the picture's letter size.
const COLUMN: f64 = 7.85;
const LINE: f64 = 17.0;
const LETTER: f64 = 13.0;
const MARGIN: f64 = 18.0;

/// Draws the lines, whose tones are the escapes that a terminal understands.
pub(crate) fn picture(lines: &[&str], says: &str) -> String {
    let width = lines.iter().map(|line| columns(line)).max().unwrap_or(0) as f64 * COLUMN;
    let height = lines.len() as f64 * LINE;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.0}\" height=\"{:.0}\" \
         font-family=\"DejaVu Sans Mono, Menlo, Consolas, monospace\" font-size=\"{LETTER}\" \
         fill=\"#1F2A33\" role=\"img\" aria-label=\"{}\">\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#FBF8F1\"/>\n",
        width + 2.0 * MARGIN,
        height + 2.0 * MARGIN,
        escaped(says),
    );
    for (at, line) in lines.iter().enumerate().filter(|(_, line)| columns(line) > 0) {
        let y = MARGIN + at as f64 * LINE + LETTER;
        let long = columns(line) as f64 * COLUMN;
        let _ = writeln!(
            svg,
            "<text x=\"{MARGIN}\" y=\"{y:.0}\" xml:space=\"preserve\" textLength=\"{long:.1}\" \
             lengthAdjust=\"spacingAndGlyphs\">{}</text>",
            toned(line)
        );
    }
    svg + "</svg>\n"
}

/// The text between escapes, with the escape before it ("" at the start and after a reset).
fn stretches(line: &str) -> impl Iterator<Item = (String, &str)> {
    let mut codes = String::new();
    line.split('\u{1b}').enumerate().filter_map(move |(at, part)| {
        let text = match part.strip_prefix('[').and_then(|rest| rest.split_once('m')) {
            Some((code, text)) if at > 0 => {
                if code == "0" {
                    codes.clear();
                } else {
                    codes = format!("{codes};{code}");
                }
                text
            }
            _ => part,
        };
        (!text.is_empty()).then(|| (codes.clone(), text))
    })
}

/// A line without its tones.
pub(crate) fn plain(line: &str) -> String {
    stretches(line).map(|(_, text)| text).collect()
}

fn columns(line: &str) -> usize {
    plain(line).chars().count()
}

fn toned(line: &str) -> String {
    stretches(line).fold(String::new(), |mut svg, (codes, text)| {
        let text = escaped(text);
        let style = style(&codes);
        let _ = if style.is_empty() {
            write!(svg, "{text}")
        } else {
            write!(svg, "<tspan{style}>{text}</tspan>")
        };
        svg
    })
}

/// Bold, quiet and the tones in red, green and blue: all that a report uses.
fn style(codes: &str) -> String {
    let numbers: Vec<u8> = codes.split(';').filter_map(|code| code.parse().ok()).collect();
    let mut style = String::new();
    let mut rest = numbers.as_slice();
    while let [code, after @ ..] = rest {
        rest = after;
        match (code, after) {
            (1, _) => style.push_str(" font-weight=\"bold\""),
            (2, _) => style.push_str(" fill=\"#6B6B6B\""),
            (38, [2, red, green, blue, after @ ..]) => {
                let _ = write!(style, " fill=\"#{red:02X}{green:02X}{blue:02X}\"");
                rest = after;
            }
            _ => {}
        }
    }
    style
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
