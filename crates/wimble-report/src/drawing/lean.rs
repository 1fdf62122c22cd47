//! Drawings inside a page: what every one of them repeats is said once, as classes of one style.
//!
//! A page of thousands of members holds thousands of drawings. Each pen and each kind of lettering
//! becomes a class; the hatchings are defined once for the whole page.

use super::ink;
use std::sync::OnceLock;
use wimble_model::Verdict;

/// An attribute text as the writer prints it, and the class that stands for it.
struct Dress {
    written: String,
    class: String,
    style: String,
}

/// Every pen and every lettering that drawings use.
fn wardrobe() -> &'static [Dress] {
    static ALL: OnceLock<Vec<Dress>> = OnceLock::new();
    ALL.get_or_init(|| {
        let tones = [
            ink::INK,
            ink::PAPER,
            ink::ALLOWED,
            ink::tone(Verdict::Fail),
            ink::tone(Verdict::Refer),
            ink::tone(Verdict::Unknown),
        ];
        let widths = [ink::FINE, ink::OUTLINE, ink::OUTLINE + 0.4, 2.4];
        let mut all = Vec::new();
        for (t, tone) in tones.iter().enumerate() {
            for (w, width) in widths.iter().enumerate() {
                all.push(Dress {
                    written: format!(" stroke=\"{tone}\" stroke-width=\"{width}\""),
                    class: format!("p{t}{w}"),
                    style: format!("stroke:{tone};stroke-width:{width}"),
                });
            }
            for anchor in ["start", "middle", "end"] {
                for weight in ["400", "600"] {
                    all.push(Dress {
                        written: format!(
                            " text-anchor=\"{anchor}\" font-size=\"{}\" font-weight=\"{weight}\" \
                             fill=\"{tone}\"",
                            ink::LETTER
                        ),
                        class: format!("t{t}{}{}", &anchor[..1], &weight[..1]),
                        style: format!(
                            "text-anchor:{anchor};font-size:{}px;font-weight:{weight};fill:{tone}",
                            ink::LETTER
                        ),
                    });
                }
            }
        }
        all
    })
}

/// The same body with classes in place of what the style says. Text of the model cannot be taken
/// for an attribute: its quotation marks are escaped.
pub(crate) fn lean(body: &str) -> String {
    let mut out = String::with_capacity(body.len());
    let mut rest = body;
    // Attributes begin with a blank; every dress is looked for only there.
    while let Some(at) = next(rest) {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        if let Some(dress) = wardrobe().iter().find(|d| from.starts_with(&d.written)) {
            out.push_str(" class=\"");
            out.push_str(&dress.class);
            out.push('"');
            rest = from.get(dress.written.len()..).unwrap_or_default();
        } else {
            out.push(' ');
            rest = from.get(1..).unwrap_or_default();
        }
    }
    out.push_str(rest);
    out
}

/// Where the next pen or lettering begins. Each letter is looked at once: two searches to the end,
/// one for each, would make a long drawing slow.
fn next(text: &str) -> Option<usize> {
    text.match_indices(' ').map(|(at, _)| at).find(|at| {
        let from = text.get(*at..).unwrap_or_default();
        from.starts_with(" stroke=\"#") || from.starts_with(" text-anchor=\"")
    })
}

/// The style that goes with [`lean`], once a page.
pub(crate) fn style() -> String {
    wardrobe().iter().map(|d| format!(".{}{{{}}}", d.class, d.style)).collect()
}
