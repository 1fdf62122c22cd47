//! A smaller pipe of the same trade's list.

use crate::shop::{Aim, Mover, Shop};
use wimble_cross::Change;
use wimble_model::{
    Cut, MemberIx, Service, ServiceKind, ServiceMaterial, ServiceShape, Trade, Verdict,
};
use wimble_recognise::ServiceBody;
use wimble_rules::{StandardPipe, standard_pipes};

/// An outside diameter is one of the table's if it is within this of it, mm.
const SAME_SIZE_MM: f64 = 0.6;

/// The largest standard size, smaller than it is, at which the cut would pass and no other be
/// worse.
pub(crate) fn smaller<'a>(
    shop: &Shop<'a>,
    mover: &Mover,
    cut: &'a Cut,
) -> Option<&'static StandardPipe> {
    let service = shop.scene.services.get(cut.services.first()?.at())?;
    let sizes = sizes(service);
    sizes.into_iter().find(|pipe| {
        let aim = |member: MemberIx| {
            Some(if member == cut.member {
                Aim { verdict: Some(Verdict::Pass), also: &cut.services }
            } else {
                Aim::of(shop.now(member, mover))
            })
        };
        resized(shop, mover, pipe.outside_mm)
            .is_some_and(|changes| shop.prove(&changes, &aim).is_ok())
    })
}

/// All pieces with another diameter; `None` if one of them is not round.
pub(crate) fn resized(shop: &Shop<'_>, mover: &Mover, diameter_mm: f64) -> Option<Vec<Change>> {
    mover
        .pieces
        .iter()
        .map(|piece| {
            let service = shop.scene.services.get(piece.at())?;
            let ServiceBody::Round { from, to, .. } = *shop.body(*piece)? else { return None };
            let body = ServiceBody::Round { from, to, radius: diameter_mm / 2000.0 };
            let shape = ServiceShape::RoundMm(diameter_mm);
            let row = Service { shape, ..service.clone() };
            Some(Change { service: *piece, body: Some(body), row: Some(row) })
        })
        .collect()
}

/// Sizes that a service might be bought in instead, the largest first: of its own system's list,
/// and none that its trade forbids (`docs/practice.md`, remedies).
pub(crate) fn sizes(service: &Service) -> Vec<&'static StandardPipe> {
    let ServiceShape::RoundMm(diameter) = service.shape else { return Vec::new() };
    if matches!(service.trade, Trade::Soil | Trade::Flue | Trade::Gas)
        || !matches!(service.kind, ServiceKind::Pipe | ServiceKind::Carrier)
    {
        return Vec::new();
    }
    let Some(system) = system(service, diameter) else { return Vec::new() };
    let least = least_mm(service);
    let mut sizes: Vec<&StandardPipe> = standard_pipes()
        .iter()
        .filter(|pipe| pipe.system == system)
        .filter(|pipe| pipe.outside_mm < diameter - SAME_SIZE_MM)
        .filter(|pipe| nominal_mm(pipe) >= least)
        .collect();
    sizes.sort_by(|a, b| b.outside_mm.total_cmp(&a.outside_mm));
    sizes
}

/// The list that a service's size is bought from: one of its trade that holds it, else the usual
/// one of its trade.
fn system(service: &Service, diameter: f64) -> Option<&'static str> {
    let of_trade: &[&str] = match (service.trade, service.kind) {
        (Trade::Waste, _) if service.material == ServiceMaterial::Solvent => {
            &["waste solvent", "PVC DWV (ASTM D2665)", "waste push-fit"]
        }
        (Trade::Waste, _) => &["waste push-fit", "waste solvent", "PVC DWV (ASTM D2665)"],
        (Trade::Heating | Trade::Water, _) => &["copper", "copper or PEX (ASTM B88 F876)"],
        (Trade::Electric, ServiceKind::Carrier) => &["EMT (ANSI C80.3)"],
        _ => &[],
    };
    let holds = |system: &&&str| {
        standard_pipes()
            .iter()
            .any(|p| p.system == **system && (p.outside_mm - diameter).abs() <= SAME_SIZE_MM)
    };
    of_trade.iter().find(holds).or_else(|| of_trade.first()).copied()
}

/// The least nominal size of a waste by what it drains, as far as its name tells; 40 where it
/// does not.
fn least_mm(service: &Service) -> f64 {
    if service.trade != Trade::Waste {
        return 0.0;
    }
    let said = [service.element.name.as_deref(), service.system.as_deref()];
    let said = said.into_iter().flatten().collect::<Vec<_>>().join(" ").to_lowercase();
    let basin = ["basin", "bidet", "condensate", "overflow"].iter().any(|word| said.contains(word));
    if basin { 32.0 } else { 40.0 }
}

/// The size a pipe is called by, in millimetres.
fn nominal_mm(pipe: &StandardPipe) -> f64 {
    let figure = pipe.name.split(' ').next().and_then(|word| word.parse::<f64>().ok());
    match figure {
        Some(mm) if pipe.name.ends_with("mm") => mm,
        _ => pipe.outside_mm,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use wimble_model::{Element, Lagging};

    fn pipe(trade: Trade, name: &str, diameter: f64) -> Service {
        Service {
            element: Element { name: Some(name.into()), ..Element::default() },
            kind: ServiceKind::Pipe,
            trade,
            material: ServiceMaterial::NotStated,
            system: None,
            run: 0,
            storey: None,
            shape: ServiceShape::RoundMm(diameter),
            lagging: Lagging::None,
            notes: [].into(),
        }
    }

    fn names(service: &Service) -> Vec<&'static str> {
        sizes(service).iter().map(|pipe| pipe.name.as_str()).collect()
    }

    #[test]
    fn soil_flue_and_gas_never_shrink() {
        for trade in [Trade::Soil, Trade::Flue, Trade::Gas] {
            assert!(sizes(&pipe(trade, "", 110.0)).is_empty());
        }
    }

    #[test]
    fn a_waste_keeps_the_least_size_of_what_it_drains() {
        assert_eq!(names(&pipe(Trade::Waste, "bath waste", 54.0)), ["40 mm"]);
        assert_eq!(names(&pipe(Trade::Waste, "basin waste", 54.0)), ["40 mm", "32 mm"]);
        assert_eq!(names(&pipe(Trade::Waste, "bath waste", 43.0)), [""; 0]);
    }

    #[test]
    fn heating_goes_down_the_list_of_copper() {
        assert_eq!(names(&pipe(Trade::Heating, "", 28.0)), ["22 mm", "15 mm"]);
        // A size of another country's list stays in it.
        assert_eq!(names(&pipe(Trade::Water, "", 22.2)), ["15 mm"]);
        assert_eq!(names(&pipe(Trade::Water, "", 28.575)), ["22 mm", "15 mm"]);
    }
}
