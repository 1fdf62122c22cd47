//! Tones as materials.

use crate::drawing::{PAPER, TIMBER, tone};
use serde_json::{Value, json};
use wimble_model::Verdict;

/// What a thing is coloured by. The order is that of the materials.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Tone {
    Timber,
    Paper,
    Pass,
    Fail,
    Refer,
    Unknown,
}

/// The material of the legend comes after the tones.
pub(super) const LEGEND: usize = Tone::ALL.len();

impl Tone {
    const ALL: [Self; 6] =
        [Self::Timber, Self::Paper, Self::Pass, Self::Fail, Self::Refer, Self::Unknown];

    /// A member whose cuts all pass is timber like one without cuts: its marks say the rest.
    pub(super) fn of_member(worst: Option<Verdict>) -> Self {
        match worst {
            None | Some(Verdict::Pass) => Self::Timber,
            Some(verdict) => Self::of(verdict),
        }
    }

    /// A service that crosses no member is paper.
    pub(super) fn of_service(worst: Option<Verdict>) -> Self {
        worst.map_or(Self::Paper, Self::of)
    }

    pub(super) const fn of(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Pass => Self::Pass,
            Verdict::Fail => Self::Fail,
            Verdict::Refer => Self::Refer,
            Verdict::Unknown => Self::Unknown,
        }
    }

    pub(super) const fn material(self) -> usize {
        self as usize
    }

    /// Name of the material, and its tone.
    const fn shown(self) -> (&'static str, &'static str) {
        match self {
            Self::Timber => ("timber: passes, or no cuts", TIMBER),
            Self::Paper => ("service without cuts", PAPER),
            Self::Pass => ("pass", tone(Verdict::Pass)),
            Self::Fail => ("fail", tone(Verdict::Fail)),
            Self::Refer => ("refer", tone(Verdict::Refer)),
            Self::Unknown => ("unknown", tone(Verdict::Unknown)),
        }
    }
}

/// The materials, in the order of the tones; the legend's last if there is one.
pub(super) fn materials(legend: bool) -> Vec<Value> {
    let matt = |name: &str, colour: Value| {
        json!({
            "name": name,
            "doubleSided": true,
            "pbrMetallicRoughness": {
                "baseColorFactor": colour, "metallicFactor": 0.0, "roughnessFactor": 0.9,
            },
        })
    };
    let mut materials: Vec<Value> = Tone::ALL
        .iter()
        .map(|tone| {
            let (name, tone) = tone.shown();
            matt(name, linear(tone))
        })
        .collect();
    if legend {
        let mut board = matt("legend", json!([1.0, 1.0, 1.0, 1.0]));
        if let Some(look) = board.pointer_mut("/pbrMetallicRoughness") {
            look["baseColorTexture"] = json!({ "index": 0 });
        }
        materials.push(board);
    }
    materials
}

/// `#RRGGBB` in the linear figures that the format wants, opaque.
fn linear(tone: &str) -> Value {
    let part = |at: usize| {
        let hex = tone.get(at..at + 2).and_then(|hex| u8::from_str_radix(hex, 16).ok());
        let c = f64::from(hex.unwrap_or(0)) / 255.0;
        let c = if c <= 0.040_45 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) };
        (c * 1e6).round() / 1e6
    };
    json!([part(1), part(3), part(5), 1.0])
}
