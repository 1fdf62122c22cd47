//! Where a pipe may go in a joist, with which bit; and if nowhere, what would.

use wimble_model::{Cut, CutKind, Member, Section, Service, ServiceShape, Trade, Verdict};
use wimble_rules::{PackSet, Probe, RuleSettings, standard_pipes, windows, windows_for};
use wimble_sheet::{Rounded, TapeUnit, bare_tape, print_tape, read_tape};

/// What is asked where it may go.
pub(super) struct Question<'a> {
    pub(super) member: &'a Member,
    /// What is cut already, and stays.
    pub(super) others: &'a [Cut],
    pub(super) packs: &'a PackSet,
    pub(super) rules: &'a RuleSettings,
    pub(super) unit: TapeUnit,
}

/// Where one kind of cut may go.
pub(super) struct Way {
    pub(super) kind: CutKind,
    pub(super) verdict: Verdict,
    /// The hole, or the notch's width and depth, mm.
    pub(super) size_mm: [f64; 2],
    /// Stretches of its middle, mm from the left face.
    places_mm: Vec<[f64; 2]>,
}

/// Bits that are bought (common practice), mm; and in inches.
const BITS_MM: [f64; 16] = [
    16.0, 20.0, 22.0, 25.0, 28.0, 32.0, 35.0, 38.0, 40.0, 44.0, 48.0, 51.0, 54.0, 57.0, 60.0, 64.0,
];
const BITS_IN: [f64; 15] =
    [0.625, 0.75, 0.875, 1.0, 1.125, 1.25, 1.375, 1.5, 1.75, 2.0, 2.125, 2.25, 2.5625, 3.0, 3.625];
/// Depths of joists that are tried, mm (from the trade); dressed lumber in inches.
const DEPTHS_MM: [f64; 7] = [97.0, 120.0, 145.0, 170.0, 195.0, 220.0, 245.0];
const DEPTHS_IN: [f64; 4] = [5.5, 7.25, 9.25, 11.25];
/// Depths of open-web joists that are made, and what their two chords take (published), mm.
const OPEN_WEB_MM: [f64; 4] = [202.0, 225.0, 254.0, 304.0];
const CHORDS_MM: f64 = 94.0;
/// Depths of I-joists that are made, with their flanges (the trade; flanges our own figure for
/// Europe, published for North America) and how much less than the clear web a hole may be at most.
const I_JOISTS_MM: IJoists =
    IJoists { depths: &[220.0, 240.0, 300.0, 360.0], flange: 45.0, less: 12.0 };
const I_JOISTS_IN: IJoists =
    IJoists { depths: &[241.3, 301.625, 355.6, 406.4], flange: 38.1, less: 6.35 };
/// A pipe larger than this may be a WC's, mm outside (our own figure, under the 75 mm of a WC).
const WC_MM: f64 = 70.0;
/// Wastes are never smaller than this (published: 32 for a basin, 40 for a bath or sink).
const LEAST_WASTE: [(f64, &str); 2] = [(40.0, ""), (32.0, " (a basin only)")];

struct IJoists {
    depths: &'static [f64],
    flange: f64,
    less: f64,
}

/// The bit for a hole, mm: the least that is bought, else the hole itself.
pub(super) fn bit(hole_mm: f64, unit: TapeUnit) -> f64 {
    let found = match unit {
        TapeUnit::Mm => BITS_MM.into_iter().find(|bit| *bit + 1e-9 >= hole_mm),
        TapeUnit::Inch => {
            BITS_IN.map(|bit| bit * 25.4).into_iter().find(|bit| *bit + 0.05 >= hole_mm)
        }
    };
    found.unwrap_or(hole_mm)
}

impl Question<'_> {
    /// The best way for a pipe with this outside size and clearance: bored before notched.
    pub(super) fn best(&self, outside_mm: f64, clearance_mm: f64) -> Option<Way> {
        let hole_mm = outside_mm + clearance_mm;
        for target in [Verdict::Pass, Verdict::Refer] {
            let bored = bit(hole_mm, self.unit);
            let mut sizes = vec![bored];
            if bored > hole_mm {
                sizes.push(hole_mm);
            }
            let kind = match self.member.section {
                Section::IJoist { .. } => CutKind::WebHole,
                Section::OpenWeb { .. } => CutKind::BetweenWebs,
                _ => CutKind::Hole,
            };
            for size in sizes {
                let probe = Probe::hole(size, 0.0).as_kind(kind);
                let places = self.places(&probe, target);
                if !places.is_empty() {
                    return Some(Way {
                        kind,
                        verdict: target,
                        size_mm: [size; 2],
                        places_mm: places,
                    });
                }
            }
            if kind == CutKind::Hole {
                let deep = outside_mm + clearance_mm / 2.0;
                let probe = Probe::notch(CutKind::TopNotch, hole_mm, deep);
                let places = self.places(&probe, target);
                if !places.is_empty() {
                    let size_mm = [hole_mm, deep];
                    return Some(Way {
                        kind: CutKind::TopNotch,
                        verdict: target,
                        size_mm,
                        places_mm: places,
                    });
                }
            }
        }
        None
    }

    fn places(&self, probe: &Probe, target: Verdict) -> Vec<[f64; 2]> {
        let found = match target {
            Verdict::Pass => windows(self.member, probe, self.others, self.packs, self.rules),
            target => windows_for(self.member, probe, self.others, self.packs, self.rules, target),
        };
        let face = self.member.spans.first().map_or(0.0, |span| span.from_mm);
        let mut places: Vec<[f64; 2]> = found.into_iter().map(|(a, b)| [a, b]).collect();
        // What would overlap another cut would be one cut with it.
        for other in self.others {
            let half = probe.width_mm / 2.0 + 0.5;
            let barred = [other.min_mm.x - half, other.max_mm.x + half];
            places = places
                .into_iter()
                .flat_map(|[from, to]| [[from, to.min(barred[0])], [from.max(barred[1]), to]])
                .filter(|[from, to]| to > from)
                .collect();
        }
        places.into_iter().map(|[a, b]| [a - face, b - face]).collect()
    }

    /// The place in words: `middle 914 to 1426 mm from either face, at mid-depth`.
    pub(super) fn said(&self, way: &Way) -> String {
        let span = match self.member.spans.as_slice() {
            [one] => one.length_mm(),
            _ => f64::INFINITY,
        };
        let turned: Vec<[f64; 2]> =
            way.places_mm.iter().rev().map(|[a, b]| [span - b, span - a]).collect();
        let near =
            |a: &[f64; 2], b: &[f64; 2]| (a[0] - b[0]).abs() < 0.5 && (a[1] - b[1]).abs() < 0.5;
        let mirrored = way.places_mm.iter().zip(&turned).all(|(a, b)| near(a, b));
        let level = match way.kind {
            CutKind::Hole => ", at mid-depth",
            CutKind::TopNotch => ", in the top edge",
            CutKind::WebHole => ", in the middle of the web",
            _ => "",
        };
        let left = self.stretches(&way.places_mm);
        if mirrored {
            // What lies left of the middle, seen from either side.
            let half = way.places_mm.len().div_ceil(2);
            let half = self.stretches(way.places_mm.get(..half).unwrap_or_default());
            return format!("middle {half} from either face{level}");
        }
        if span.is_finite() {
            let right = self.stretches(&turned);
            return format!("middle {left} from the left face ({right} from the right){level}");
        }
        format!("middle {left} from the left face{level}")
    }

    /// Stretches for a tape, to the safe side: `914 to 1056 or 1344 to 1426 mm`.
    fn stretches(&self, places_mm: &[[f64; 2]]) -> String {
        /// More are too many to remember at the saw.
        const SHOWN: usize = 3;
        let of = |mm: f64, rounded| bare_tape(mm, self.unit, rounded);
        let whole = |mm: f64, up: bool| match self.unit {
            TapeUnit::Mm if up => mm.ceil(),
            TapeUnit::Mm => mm.floor(),
            TapeUnit::Inch => mm,
        };
        let said: Vec<String> = places_mm
            .iter()
            .take(SHOWN)
            .map(|[from, to]| {
                let (from, to) = (whole(*from, true), whole(*to, false));
                if to <= from {
                    return of(from, Rounded::Nearest);
                }
                format!("{} to {}", of(from, Rounded::Up), of(to, Rounded::Down))
            })
            .collect();
        let unit = if self.unit == TapeUnit::Mm { " mm" } else { "" };
        format!("{}{unit}", said.join(" or "))
    }

    /// The cut in words: `hole with a 28 mm bit`, `notch 27 mm wide, 24 mm deep`.
    pub(super) fn cut(&self, way: &Way) -> String {
        let [wide, deep] = way.size_mm;
        let of = |mm: f64| print_tape(mm, self.unit, Rounded::Nearest);
        match way.kind {
            CutKind::TopNotch => format!("notch {} wide, {} deep", of(wide), of(deep)),
            CutKind::BetweenWebs => format!("way of {} between the webs", of(wide)),
            _ => format!("hole with a {} bit", of(wide)),
        }
    }

    /// What would do where nothing does, in one line.
    pub(super) fn instead(&self, service: &Service, clearance_mm: f64) -> String {
        let ServiceShape::RoundMm(outside) = service.shape else {
            return "Run it with the joists, or ask.".to_owned();
        };
        let mut said = Vec::new();
        if let Some(smaller) = self.smaller(service, outside) {
            said.push(smaller);
        }
        if let Some(depth) = self.deeper(outside, clearance_mm) {
            said.push(format!("a joist {} deep", print_tape(depth, self.unit, Rounded::Nearest)));
        }
        said.push("running with the joists".to_owned());
        let need = outside + clearance_mm;
        if let Some(depth) = OPEN_WEB_MM.iter().find(|depth| **depth - CHORDS_MM > need) {
            said.push(format!(
                "an open-web joist {} deep, where its webs leave room",
                print_tape(*depth, self.unit, Rounded::Nearest)
            ));
        }
        said.extend(self.i_joist(need));
        format!("What would do: {}.", said.join("; "))
    }

    /// The least I-joist with room for the hole between its flanges, if this one is none; where along
    /// it is for its maker to say.
    fn i_joist(&self, hole_mm: f64) -> Option<String> {
        if matches!(self.member.section, Section::IJoist { .. }) {
            return None;
        }
        let made = match self.unit {
            TapeUnit::Mm => &I_JOISTS_MM,
            TapeUnit::Inch => &I_JOISTS_IN,
        };
        let fits = |depth: &&f64| **depth - 2.0 * made.flange - made.less >= hole_mm;
        let depth = made.depths.iter().find(fits)?;
        let depth = print_tape(*depth, self.unit, Rounded::Nearest);
        Some(format!("an I-joist {depth} deep, where its maker's hole table allows it"))
    }

    /// The next smaller pipe of the trade that has a place.
    fn smaller(&self, service: &Service, outside: f64) -> Option<String> {
        if !matches!(
            service.trade,
            Trade::Waste | Trade::Heating | Trade::Water | Trade::Unknown | Trade::Electric
        ) {
            return None;
        }
        let waste = service.trade == Trade::Waste;
        // What may serve a WC is never made smaller.
        if waste && outside > WC_MM {
            return None;
        }
        let inch = self.unit == TapeUnit::Inch;
        let wanted = match (waste, inch) {
            (true, false) => "waste",
            (true, true) => "PVC DWV",
            (false, false) => "copper",
            (false, true) => "copper or PEX",
        };
        let of_trade = |system: &str| match wanted {
            "copper" => system == wanted,
            wanted => system.starts_with(wanted),
        };
        let mut pipes: Vec<_> = standard_pipes()
            .iter()
            .filter(|pipe| of_trade(&pipe.system) && pipe.outside_mm < outside - 0.5)
            .collect();
        pipes.sort_by(|a, b| b.outside_mm.total_cmp(&a.outside_mm));
        pipes.into_iter().find_map(|pipe| {
            let nominal = read_tape(&pipe.name, TapeUnit::Mm).ok()?.mm;
            let note = match waste {
                false => "",
                true => LEAST_WASTE.iter().find(|(least, _)| nominal + 3.0 >= *least)?.1,
            };
            let way = self.best(pipe.outside_mm, pipe.clearance_mm)?;
            (way.verdict == Verdict::Pass)
                .then(|| format!("{} {}{note}, if the designer agrees", pipe.name, pipe.system))
        })
    }

    /// The least depth of joist that takes it.
    fn deeper(&self, outside: f64, clearance_mm: f64) -> Option<f64> {
        let Section::Rectangle { breadth_mm, depth_mm } = self.member.section else { return None };
        let depths: Vec<f64> = match self.unit {
            TapeUnit::Mm => DEPTHS_MM.to_vec(),
            TapeUnit::Inch => DEPTHS_IN.map(|depth| depth * 25.4).to_vec(),
        };
        depths.into_iter().filter(|depth| *depth > depth_mm + 0.5).find(|depth| {
            let mut member = self.member.clone();
            member.section = Section::Rectangle { breadth_mm, depth_mm: *depth };
            let question = Question { member: &member, ..*self };
            question.best(outside, clearance_mm).is_some_and(|way| way.verdict == Verdict::Pass)
        })
    }
}
