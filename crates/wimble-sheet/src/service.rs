//! A service in the words of the trade: `22 mm copper`, `40 mm waste push-fit`, `1/2 in EMT`.

use crate::error::nearest;
use crate::tape::{TapeUnit, read_tape};
use wimble_model::{Element, Lagging, Service, ServiceKind, ServiceMaterial, ServiceShape, Trade};
use wimble_rules::{StandardPipe, standard_pipes};

/// A service that was named, and how its size was read.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteService {
    /// What it is; its element is empty but for the name.
    pub service: Service,
    /// How the name became a size, where that was not plain.
    pub said: Option<String>,
}

/// Words that a name may hold, and what they say.
const WORDS: &[(&str, Says)] = &[
    ("copper", Says::Copper),
    ("steel", Says::Metal),
    ("iron", Says::Metal),
    ("plastic", Says::Plastic),
    ("pex", Says::Plastic),
    ("pb", Says::Plastic),
    ("barrier", Says::Plastic),
    ("multilayer", Says::Plastic),
    ("mlcp", Says::Plastic),
    ("cpvc", Says::Plastic),
    ("waste", Says::Waste),
    ("drain", Says::Waste),
    ("dwv", Says::Waste),
    ("pvc", Says::Waste),
    ("abs", Says::Waste),
    ("push-fit", Says::PushFit),
    ("pushfit", Says::PushFit),
    ("push", Says::PushFit),
    ("fit", Says::Nothing),
    ("solvent", Says::Solvent),
    ("weld", Says::Nothing),
    ("overflow", Says::Overflow),
    ("condensate", Says::Overflow),
    ("soil", Says::Soil),
    ("gas", Says::Trade(Trade::Gas)),
    ("heating", Says::Trade(Trade::Heating)),
    ("radiator", Says::Trade(Trade::Heating)),
    ("flow", Says::Trade(Trade::Heating)),
    ("return", Says::Trade(Trade::Heating)),
    ("water", Says::Trade(Trade::Water)),
    ("hot", Says::Trade(Trade::Water)),
    ("cold", Says::Trade(Trade::Water)),
    ("mains", Says::Trade(Trade::Water)),
    ("flue", Says::Flue),
    ("duct", Says::Duct),
    ("vent", Says::Duct),
    ("extract", Says::Duct),
    ("cable", Says::Cable),
    ("twin", Says::TwinAndEarth),
    ("earth", Says::Nothing),
    ("and", Says::Nothing),
    ("conduit", Says::Conduit),
    ("emt", Says::Conduit),
    ("bath", Says::Appliance),
    ("basin", Says::Appliance),
    ("sink", Says::Appliance),
    ("shower", Says::Appliance),
    ("pipe", Says::Nothing),
    ("tube", Says::Nothing),
    ("od", Says::Outside),
    ("outside", Says::Outside),
    ("round", Says::Nothing),
    ("flat", Says::Nothing),
];

#[derive(Debug, Clone, Copy, PartialEq)]
enum Says {
    Copper,
    Metal,
    Plastic,
    Waste,
    PushFit,
    Solvent,
    Overflow,
    Soil,
    Flue,
    Duct,
    Cable,
    TwinAndEarth,
    Conduit,
    Appliance,
    Outside,
    Trade(Trade),
    Nothing,
}

/// Flat twin and earth cable by its copper, mm²: width and thickness, mm (BS 6004, typical).
const TWIN_AND_EARTH: [(&str, [f64; 2]); 7] = [
    ("1", [7.8, 4.25]),
    ("1.5", [8.2, 5.0]),
    ("2.5", [10.3, 6.0]),
    ("4", [11.9, 6.25]),
    ("6", [13.5, 7.0]),
    ("10", [17.1, 10.0]),
    ("16", [19.4, 10.0]),
];

/// Reads a service by its trade name.
///
/// # Errors
/// What is not understood, and how it is written.
pub fn read_service(text: &str) -> Result<SiteService, String> {
    let (size, says) = words(text)?;
    let has = |wanted: Says| says.contains(&wanted);
    let trade = says.iter().find_map(|says| match says {
        Says::Trade(trade) => Some(*trade),
        _ => None,
    });
    if has(Says::TwinAndEarth) {
        return twin_and_earth(text, &size);
    }
    if has(Says::Cable) {
        return plain(text, &size, ServiceKind::Cable, Trade::Electric, ServiceMaterial::NotStated);
    }
    if has(Says::Conduit) {
        return listed(text, &size, &["EMT"], Kind::conduit());
    }
    if has(Says::Flue) {
        return plain(text, &size, ServiceKind::Pipe, Trade::Flue, ServiceMaterial::NotStated);
    }
    if has(Says::Duct) {
        return plain(text, &size, ServiceKind::Duct, Trade::Air, ServiceMaterial::NotStated);
    }
    let outside = has(Says::Outside);
    if has(Says::Soil) {
        let kind = Kind {
            kind: ServiceKind::Pipe,
            trade: Trade::Soil,
            material: ServiceMaterial::NotStated,
        };
        return if outside {
            kind.plain(text, &size)
        } else {
            listed(text, &size, &["soil", "PVC DWV"], kind)
        };
    }
    let waste = has(Says::Waste) || has(Says::PushFit) || has(Says::Solvent);
    let waste = waste || has(Says::Overflow) || (has(Says::Appliance) && trade.is_none());
    if waste && !has(Says::Copper) {
        return waste_pipe(text, &size, &says, outside);
    }
    let material = match () {
        () if has(Says::Copper) || has(Says::Metal) => ServiceMaterial::Metal,
        () if has(Says::Plastic) => ServiceMaterial::Plastic,
        () => ServiceMaterial::NotStated,
    };
    let trade = trade.unwrap_or(if waste { Trade::Waste } else { Trade::Unknown });
    let kind = Kind { kind: ServiceKind::Pipe, trade, material };
    match material {
        _ if outside => kind.plain(text, &size),
        ServiceMaterial::Metal if has(Says::Copper) => listed(text, &size, &["copper"], kind),
        ServiceMaterial::Plastic => listed(text, &size, &["copper or PEX"], kind),
        _ => kind.plain(text, &size),
    }
}

#[derive(Debug, Clone, Copy)]
struct Kind {
    kind: ServiceKind,
    trade: Trade,
    material: ServiceMaterial,
}

impl Kind {
    const fn conduit() -> Self {
        Self {
            kind: ServiceKind::Carrier,
            trade: Trade::Electric,
            material: ServiceMaterial::NotStated,
        }
    }

    fn plain(self, text: &str, size: &Size) -> Result<SiteService, String> {
        plain(text, size, self.kind, self.trade, self.material)
    }

    fn round(self, text: &str, outside_mm: f64, said: Option<String>) -> SiteService {
        let shape = ServiceShape::RoundMm(outside_mm);
        SiteService { service: service(text, self.kind, self.trade, self.material, shape), said }
    }
}

/// The size that stands in a name.
struct Size {
    /// As written (`1-1/2 in`, `22`, `2.5 mm2`).
    text: String,
    /// Sides, mm; one for a round thing.
    mm: Vec<f64>,
    unit: TapeUnit,
}

/// The size and the words of a name.
fn words(text: &str) -> Result<(Size, Vec<Says>), String> {
    let clean =
        text.to_lowercase().replace(['×', '*'], "x").replace("t&e", "twin").replace("mm²", "mm2");
    let clean = clean.replace("push fit", "push-fit");
    let mut figures: Vec<String> = Vec::new();
    let mut says = Vec::new();
    let mut closed = false;
    for word in clean.split([' ', ',', ';']).filter(|word| !word.is_empty()) {
        let figure = word.starts_with(|c: char| c.is_ascii_digit() || "½¼¾⅛⅜⅝⅞.".contains(c));
        let unit = matches!(word, "mm" | "mm2" | "in" | "inch" | "inches" | "\"" | "x" | "sq");
        if (figure || (unit && !figures.is_empty())) && !closed {
            figures.push(word.to_owned());
        } else if let Some((_, meaning)) = WORDS.iter().find(|(known, _)| *known == word) {
            closed = !figures.is_empty();
            says.push(*meaning);
        } else {
            let known: Vec<&str> = WORDS.iter().map(|(known, _)| *known).collect();
            let hint =
                nearest(word, &known).map(|w| format!("did you mean `{w}`? ")).unwrap_or_default();
            return Err(format!("`{word}` is not known here; {hint}{HOW}"));
        }
    }
    let joined = figures.join(" ").replace(" mm2", "mm2");
    if joined.is_empty() {
        return Err(format!("`{}` has no size; {HOW}", text.trim()));
    }
    if joined.ends_with("mm2") || joined.ends_with("sq") {
        let text = joined.trim_end_matches("mm2").trim_end_matches("mm sq").trim_end_matches("sq");
        let size = Size { text: text.trim().to_owned(), mm: Vec::new(), unit: TapeUnit::Mm };
        return Ok((size, says));
    }
    let mut unit = TapeUnit::Mm;
    let mut mm = Vec::new();
    // The unit behind the last side is that of all.
    for side in joined.split('x').rev() {
        let taped = read_tape(side, unit).map_err(|why| format!("{why}; {HOW}"))?;
        unit = taped.unit;
        if taped.mm <= 0.0 {
            return Err(format!("`{}` has no size; {HOW}", text.trim()));
        }
        mm.insert(0, taped.mm);
    }
    Ok((Size { text: joined, mm, unit }, says))
}

/// How a service is written.
const HOW: &str = "write for example 22 mm copper, 40 mm waste push-fit, 110 mm soil, 204 x 60 duct, 2.5 mm2 twin and earth";

fn service(
    text: &str,
    kind: ServiceKind,
    trade: Trade,
    material: ServiceMaterial,
    shape: ServiceShape,
) -> Service {
    Service {
        element: Element { name: Some(text.trim().into()), ..Element::default() },
        kind,
        trade,
        material,
        system: None,
        run: 0,
        storey: None,
        shape,
        lagging: Lagging::None,
        notes: [].into(),
    }
}

/// A thing whose name is its outside size.
fn plain(
    text: &str,
    size: &Size,
    kind: ServiceKind,
    trade: Trade,
    material: ServiceMaterial,
) -> Result<SiteService, String> {
    let shape = match size.mm.as_slice() {
        [outside] => ServiceShape::RoundMm(*outside),
        [a, b] => ServiceShape::RectangleMm([a.max(*b), a.min(*b)]),
        _ => return Err(format!("`{}` has no outside size; {HOW}", text.trim())),
    };
    Ok(SiteService { service: service(text, kind, trade, material, shape), said: None })
}

/// A cable as the least circle round it.
fn twin_and_earth(text: &str, size: &Size) -> Result<SiteService, String> {
    let copper = size.text.trim_end_matches("mm").trim().trim_end_matches(".0");
    let found = TWIN_AND_EARTH.iter().find(|(name, _)| *name == copper);
    let Some((_, [width, thick])) = found else {
        let known: Vec<&str> = TWIN_AND_EARTH.iter().map(|(name, _)| *name).collect();
        return Err(format!("twin and earth comes as {} mm2", known.join(", ")));
    };
    let outside = width.hypot(*thick);
    let said = format!(
        "{}: {width} × {thick} mm, {outside:.1} mm round it (BS 6004, typical, published)",
        text.trim()
    );
    let kind = Kind {
        kind: ServiceKind::Cable,
        trade: Trade::Electric,
        material: ServiceMaterial::NotStated,
    };
    Ok(kind.round(text, outside, Some(said)))
}

/// The name of a size as the table has it: `22 mm`, `1-1/2 in`.
fn of_name<'p>(
    pipes: impl Iterator<Item = &'p StandardPipe>,
    size: &Size,
) -> Vec<&'p StandardPipe> {
    let [mm] = size.mm.as_slice() else { return Vec::new() };
    pipes
        .filter(|pipe| {
            read_tape(&pipe.name, TapeUnit::Mm)
                .is_ok_and(|named| named.unit == size.unit && (named.mm - mm).abs() < 0.01)
        })
        .collect()
}

/// A pipe of one of these systems; a metric name that the table has not is its outside size.
fn listed(text: &str, size: &Size, systems: &[&str], kind: Kind) -> Result<SiteService, String> {
    let of_system = |pipe: &&StandardPipe| systems.iter().any(|s| pipe.system.starts_with(s));
    let found = of_name(standard_pipes().iter().filter(of_system), size);
    if let Some(pipe) = found.first() {
        let said = ((pipe.outside_mm - size.mm.first().copied().unwrap_or_default()).abs() > 0.05)
            .then(|| format!("{}: {} mm outside ({})", text.trim(), pipe.outside_mm, pipe.source));
        return Ok(kind.round(text, pipe.outside_mm, said));
    }
    if size.unit == TapeUnit::Inch {
        let names: Vec<&str> = standard_pipes()
            .iter()
            .filter(of_system)
            .filter(|pipe| pipe.name.ends_with("in"))
            .map(|pipe| pipe.name.as_str())
            .collect();
        return Err(format!(
            "the outside size of `{}` is not known; known are {}. Give its outside size: 1.9 in od",
            text.trim(),
            names.join(", ")
        ));
    }
    kind.plain(text, size)
}

/// Waste pipe: the outside size goes by the joint; where that is not said the largest is taken.
fn waste_pipe(
    text: &str,
    size: &Size,
    says: &[Says],
    outside: bool,
) -> Result<SiteService, String> {
    let has = |wanted: Says| says.contains(&wanted);
    let material = match () {
        () if has(Says::PushFit) => ServiceMaterial::PushFit,
        () if has(Says::Solvent) => ServiceMaterial::Solvent,
        () => ServiceMaterial::NotStated,
    };
    let kind = Kind { kind: ServiceKind::Pipe, trade: Trade::Waste, material };
    if outside {
        return kind.plain(text, size);
    }
    let systems: &[&str] = match material {
        _ if size.unit == TapeUnit::Inch => &["PVC DWV"],
        _ if has(Says::Overflow) => &["overflow"],
        ServiceMaterial::PushFit => &["waste push-fit"],
        ServiceMaterial::Solvent => &["waste solvent"],
        _ => &["waste"],
    };
    let of_system = |pipe: &&StandardPipe| systems.iter().any(|s| pipe.system.starts_with(s));
    let found = of_name(standard_pipes().iter().filter(of_system), size);
    let largest = found.iter().max_by(|a, b| a.outside_mm.total_cmp(&b.outside_mm));
    match (largest, found.len()) {
        (Some(pipe), count) if count > 1 => {
            let others: Vec<String> = found
                .iter()
                .filter(|other| *other != pipe)
                .map(|other| format!("{} is {} mm", other.system, other.outside_mm))
                .collect();
            let said = format!(
                "{}: taken as {} mm outside ({}, the largest of that name; {})",
                text.trim(),
                pipe.outside_mm,
                pipe.system,
                others.join(", ")
            );
            Ok(kind.round(text, pipe.outside_mm, Some(said)))
        }
        _ => listed(text, size, systems, kind),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outside(text: &str) -> f64 {
        match read_service(text).unwrap().service.shape {
            ServiceShape::RoundMm(mm) => mm,
            other => panic!("{text}: {other:?}"),
        }
    }

    #[test]
    fn a_trade_name_takes_its_outside_size_from_the_table() {
        // EN 1057; BS 5254 and EN 1329 lineage by joint; ASTM B88, D2665; ANSI C80.3.
        for (text, mm) in [
            ("22 mm copper", 22.0),
            ("22mm copper heating", 22.0),
            ("copper 15", 15.0),
            ("40 mm waste push-fit", 41.0),
            ("40 waste, solvent weld", 43.0),
            ("40 mm waste", 43.0),
            ("bath waste 40 mm", 43.0),
            ("21.5 mm overflow", 21.5),
            ("110 mm soil", 110.0),
            ("1-1/2 in PVC", 48.26),
            ("2\" drain", 60.325),
            ("3/4 in copper", 22.225),
            ("1/2 in PEX", 15.875),
            ("1/2 in EMT", 17.9324),
            ("43 mm od waste", 43.0),
            ("15 mm plastic", 15.0),
            ("25 mm conduit", 25.0),
            ("100 mm duct", 100.0),
        ] {
            assert!((outside(text) - mm).abs() < 1e-9, "{text}: {}", outside(text));
        }
        assert!((outside("2.5 mm2 twin and earth") - 11.92).abs() < 0.01);
    }

    #[test]
    fn what_it_carries_and_is_made_of_decides_its_clearance() {
        let of = |text: &str| {
            let s = read_service(text).unwrap().service;
            (s.kind, s.trade, s.material)
        };
        use {ServiceKind as K, ServiceMaterial as M, Trade as T};
        assert_eq!(of("22 mm copper gas"), (K::Pipe, T::Gas, M::Metal));
        assert_eq!(of("40 mm waste push fit"), (K::Pipe, T::Waste, M::PushFit));
        assert_eq!(of("110 soil"), (K::Pipe, T::Soil, M::NotStated));
        assert_eq!(of("15 mm plastic hot"), (K::Pipe, T::Water, M::Plastic));
        assert_eq!(of("204 x 60 duct"), (K::Duct, T::Air, M::NotStated));
        assert_eq!(of("10 mm cable"), (K::Cable, T::Electric, M::NotStated));
        let duct = read_service("204 x 60 duct").unwrap().service.shape;
        assert_eq!(duct, ServiceShape::RectangleMm([204.0, 60.0]));
    }

    #[test]
    fn how_an_unclear_name_was_read_is_said() {
        let said = read_service("40 mm waste").unwrap().said.unwrap();
        assert!(said.contains("43 mm") && said.contains("push-fit is 41 mm"), "{said}");
        assert_eq!(read_service("22 mm copper").unwrap().said, None);
    }

    #[test]
    fn what_is_no_service_says_why() {
        for (text, why) in [
            ("copper", "has no size"),
            ("22 mm coper", "did you mean `copper`?"),
            ("22 mm bananas", "`bananas` is not known"),
            ("7 mm2 twin and earth", "comes as"),
            ("7 in copper", "known are"),
            ("0 mm copper", "has no size"),
            ("", "has no size"),
        ] {
            let message = read_service(text).unwrap_err();
            assert!(message.contains(why), "{text}: {message}");
        }
    }

    proptest::proptest! {
        #[test]
        fn nothing_that_is_typed_breaks_it(text in "\\PC{0,24}") {
            let _ = read_service(&text);
        }
    }
}
