//! What was said of one joist, and the site sheet that it makes.

use std::fmt::Write;
use wimble_sheet::{
    Datum, Rounded, TapeUnit, Taped, print_tape, read_lumber, read_service, read_tape,
};

/// One joist and its cuts, in the words of whoever typed them.
#[derive(Debug, Clone, Default)]
pub(super) struct Said {
    breadth: Option<Taped>,
    depth: Option<Taped>,
    span: Option<Taped>,
    /// Depth of a flange, as typed: the joist is an I-joist.
    pub(super) flange: Option<String>,
    hung: Option<&'static str>,
    plies: u32,
    trimmer: bool,
    load: Option<&'static str>,
    pub(super) cuts: Vec<SaidCut>,
}

/// One thing that passes or is cut.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct SaidCut {
    /// `pipe`, `hole` or `notch`, with what was typed.
    what: Option<(&'static str, String)>,
    at: Option<(Taped, Datum)>,
    /// Key and value of its level, if it is not mid-depth.
    level: Option<(&'static str, String)>,
}

impl SaidCut {
    /// Nobody said where: the answer is where it may go.
    pub(super) const fn is_plan(&self) -> bool {
        self.at.is_none()
    }

    /// The service that passes.
    pub(super) fn pipe(&self) -> Option<&str> {
        self.what.as_ref().filter(|(key, _)| *key == "pipe").map(|(_, text)| text.as_str())
    }
}

/// Least and greatest depth of anything that is a joist; a slip of the finger is caught by them.
const DEPTHS_MM: [f64; 2] = [30.0, 1500.0];
const SPANS_MM: [f64; 2] = [200.0, 20_000.0];
/// What the words for special joists say.
const HUNG: [(&str, &str); 6] = [
    ("hung", "both"),
    ("hung both", "both"),
    ("hung left", "left"),
    ("hung right", "right"),
    ("hangers", "both"),
    ("hanger", "both"),
];
const LOADS: [(&str, &str); 8] = [
    ("tank", "tank"),
    ("cylinder", "cylinder"),
    ("boiler", "boiler"),
    ("stove", "stove"),
    ("wall along", "wall-along"),
    ("wall across", "wall-across"),
    ("bath", "bath"),
    ("shower", "shower"),
];

impl Said {
    /// The unit that was typed first: figures without one are in it, and so are the answers.
    pub(super) fn unit(&self) -> TapeUnit {
        self.depth.or(self.span).map_or(TapeUnit::Mm, |taped| taped.unit)
    }

    fn length(&self, text: &str) -> Result<Taped, String> {
        read_tape(text, self.unit())
    }

    /// `220`, `47 x 220`, `1-1/2 x 9-1/4`, `2x10`.
    pub(super) fn size(&mut self, text: &str) -> Result<(), String> {
        if let Some([breadth, depth]) = read_lumber(text) {
            let inch = |mm| Some(Taped { mm, unit: TapeUnit::Inch });
            (self.breadth, self.depth) = (inch(breadth), inch(depth));
            return Ok(());
        }
        let sides: Vec<&str> = text.split(['x', '×', 'X', '*']).map(str::trim).collect();
        let (breadth, depth) = match sides.as_slice() {
            [depth] => (None, read_tape(depth, TapeUnit::Mm)?),
            [breadth, depth] => {
                let depth = read_tape(depth, TapeUnit::Mm)?;
                let breadth = read_tape(breadth, depth.unit)?;
                // `1-1/2 x 9`: one side in inches, both are.
                let depth = match (breadth.unit, depth.unit) {
                    (TapeUnit::Inch, TapeUnit::Mm) => read_tape(sides[1], TapeUnit::Inch)?,
                    _ => depth,
                };
                (Some(breadth), depth)
            }
            _ => return Err("write the breadth and the depth, for example 47 x 220".to_owned()),
        };
        let (breadth, depth) = match breadth {
            Some(breadth) if breadth.mm > depth.mm => (Some(depth), breadth),
            breadth => (breadth, depth),
        };
        within(depth.mm, DEPTHS_MM, "depth")?;
        if breadth.is_some_and(|breadth| breadth.mm < 10.0) {
            return Err("that is too thin for a joist".to_owned());
        }
        (self.breadth, self.depth) = (breadth, Some(depth));
        Ok(())
    }

    pub(super) fn span(&mut self, text: &str) -> Result<(), String> {
        let mut span = self.length(text)?;
        // Nobody builds a span of 12 inches: a bare `12` from someone in inches is feet.
        if span.unit == TapeUnit::Inch && text.trim().parse::<f64>().is_ok() && span.mm < 1000.0 {
            span = read_tape(&format!("{} ft", text.trim()), TapeUnit::Inch)?;
        }
        within(span.mm, SPANS_MM, "clear span")?;
        self.span = Some(span);
        Ok(())
    }

    /// A service by its trade name, or what is cut already: `hole 48`, `notch 40 x 25`.
    pub(super) fn through(&self, cut: &mut SaidCut, text: &str) -> Result<(), String> {
        let text = text.trim();
        let lower = text.to_lowercase();
        for key in ["hole", "notch"] {
            let Some(rest) = lower.strip_prefix(key) else { continue };
            let rest = rest.trim().trim_start_matches("of").trim();
            let sides: Vec<&str> = rest.split(['x', '×', '*']).collect();
            if key == "notch" && sides.len() != 2 {
                return Err("write a notch as width x depth, for example notch 40 x 25".to_owned());
            }
            let read: Vec<Taped> =
                sides.iter().map(|side| self.length(side)).collect::<Result<_, _>>()?;
            if read.iter().any(|side| side.mm <= 0.0) {
                return Err("the size has to be more than nothing".to_owned());
            }
            let said: Vec<String> = read.iter().map(|side| exact(*side)).collect();
            cut.what = Some((key, said.join(" x ")));
            return Ok(());
        }
        // A bare figure from someone in inches is in inches.
        let bare = text.split(' ').next().is_some_and(|word| word.parse::<f64>().is_ok());
        let named = read_service(text)?;
        let text = if bare
            && self.unit() == TapeUnit::Inch
            && !lower.contains("mm")
            && !lower.contains("in")
        {
            let (figure, rest) = text.split_once(' ').unwrap_or((text, ""));
            let text = format!("{figure} in {rest}");
            read_service(&text)?;
            text
        } else {
            drop(named);
            text.to_owned()
        };
        cut.what = Some(("pipe", text));
        Ok(())
    }

    /// `1170`, `900 right`.
    pub(super) fn place(&self, cut: &mut SaidCut, text: &str) -> Result<(), String> {
        let lower = text.trim().to_lowercase();
        let (figure, from) = if let Some(figure) = lower.strip_suffix("right") {
            (figure, Datum::Right)
        } else {
            (lower.strip_suffix("left").unwrap_or(&lower), Datum::Left)
        };
        let figure = figure.trim().trim_end_matches("from").trim();
        let at = self.length(figure)?;
        if self.span.is_some_and(|span| at.mm > span.mm) {
            return Err("that is further than the clear span".to_owned());
        }
        cut.at = Some((at, from));
        Ok(())
    }

    /// Nothing or `middle`; `top` for a notch in the top edge; else how far up from the underside.
    pub(super) fn level(&self, cut: &mut SaidCut, text: &str) -> Result<(), String> {
        let lower = text.trim().to_lowercase();
        let of_notch = matches!(cut.what, Some(("notch", _)));
        cut.level = match lower.as_str() {
            "" | "middle" | "mid" | "centre" | "center" => None,
            "top" | "notch" | "top notch" => (!of_notch).then(|| ("in", "top-notch".to_owned())),
            "bottom" | "bottom notch" => Some(("in", "bottom-notch".to_owned())),
            figure => {
                let (key, figure) = match figure.strip_suffix("down") {
                    Some(figure) => ("down", figure),
                    None => ("up", figure.strip_suffix("up").unwrap_or(figure)),
                };
                let height = self.length(figure)?;
                if self.depth.is_some_and(|depth| height.mm > depth.mm) {
                    return Err("that is more than the depth of the joist".to_owned());
                }
                Some((key, exact(height)))
            }
        };
        Ok(())
    }

    /// Hung, doubled, a trimmer, or something heavy over it: several with commas.
    pub(super) fn held(&mut self, text: &str) -> Result<(), String> {
        for word in text.to_lowercase().split([',', ';']).map(str::trim) {
            let find = |list: &[(&str, &'static str)]| {
                list.iter().find(|(known, _)| *known == word).map(|(_, value)| *value)
            };
            if matches!(word, "" | "no" | "none" | "n" | "nothing") {
            } else if let Some(hung) = find(&HUNG) {
                self.hung = Some(hung);
            } else if let Some(load) = find(&LOADS) {
                self.load = Some(load);
            } else if matches!(word, "double" | "doubled" | "two" | "2") {
                self.plies = 2;
            } else if word == "trimmer" {
                self.trimmer = true;
            } else {
                let words: Vec<&str> = LOADS.iter().map(|(known, _)| *known).collect();
                return Err(format!(
                    "`{word}` is not known here; say hung, hung left, double, trimmer, {}, or nothing",
                    words.join(", ")
                ));
            }
        }
        Ok(())
    }

    /// `hole 48 at 900`, `notch 40 x 25 at 500 right`: cut already.
    pub(super) fn existing(&mut self, text: &str) -> Result<(), String> {
        let Some((what, at)) = text.split_once(" at ") else {
            return Err("say what and where, for example \"hole 48 at 900\"".to_owned());
        };
        let mut cut = SaidCut::default();
        self.through(&mut cut, what)?;
        self.place(&mut cut, at)?;
        self.cuts.push(cut);
        Ok(())
    }

    /// The site sheet. A cut without a place is left out.
    pub(super) fn toml(&self) -> String {
        let mut text = String::from("[[member]]\nname = \"Joist\"\n");
        let mut line = |key: &str, value: &str| {
            let _ = writeln!(text, "{key} = {}", toml::Value::String(value.to_owned()));
        };
        let breadth = self.breadth.unwrap_or(match self.unit() {
            TapeUnit::Mm => Taped { mm: 47.0, unit: TapeUnit::Mm },
            TapeUnit::Inch => Taped { mm: 38.1, unit: TapeUnit::Inch },
        });
        line("breadth", &exact(breadth));
        for (key, value) in [("depth", self.depth), ("span", self.span)] {
            if let Some(value) = value {
                line(key, &exact(value));
            }
        }
        if let Some(flange) = &self.flange {
            line("flange", flange);
        }
        if let Some(hung) = self.hung {
            line("hung", hung);
        }
        if self.plies > 1 {
            line("plies", &self.plies.to_string());
        }
        if self.trimmer {
            line("role", "trimmer");
        }
        if let Some(load) = self.load {
            line("load", load);
        }
        for cut in &self.cuts {
            let (Some((key, what)), Some((at, from))) = (&cut.what, &cut.at) else { continue };
            text.push_str("\n[[member.cut]]\n");
            let mut line = |key: &str, value: &str| {
                let _ = writeln!(text, "{key} = {}", toml::Value::String(value.to_owned()));
            };
            line(key, what);
            line("at", &exact(*at));
            line("from", if *from == Datum::Right { "right" } else { "left" });
            if let Some((key, value)) = &cut.level {
                line(key, value);
            }
            if *key != "pipe" {
                line("existing", "yes");
            }
        }
        text
    }

    /// The breadth was not said.
    pub(super) const fn breadth_assumed(&self) -> bool {
        self.breadth.is_none()
    }
}

/// A length that reads back as the same: millimetres, or the inches that were typed.
fn exact(taped: Taped) -> String {
    let text = print_tape(taped.mm, taped.unit, Rounded::Nearest);
    match read_tape(&text, taped.unit) {
        Ok(read) if (read.mm - taped.mm).abs() < 1e-6 => text,
        _ => format!("{} mm", taped.mm),
    }
}

fn within(mm: f64, [least, most]: [f64; 2], what: &str) -> Result<(), String> {
    if mm < least || mm > most {
        return Err(format!(
            "a {what} of {mm:.0} mm? between {least:.0} mm and {most:.0} mm is believed"
        ));
    }
    Ok(())
}
