//! What a report says of the whole model besides its cuts: trades that are missing, what is not
//! checked, where services are.

use crate::{Expected, Settings};
use glam::DVec3;
use wimble_model::{Service, ServiceKind};
use wimble_recognise::ServiceBody;
use wimble_report::Report;

/// Trades whose absence is always said.
const USUAL: [(ServiceKind, &str); 3] =
    [(ServiceKind::Pipe, "pipes"), (ServiceKind::Duct, "ducts"), (ServiceKind::Cable, "cables")];

/// Adds the assumptions that hold for every check, and what is expected but not modelled.
pub(crate) fn tell(report: &mut Report, settings: &Settings) {
    for (kind, word) in USUAL {
        if !report.services.iter().any(|service| service.kind == kind) {
            report.assumptions.push(format!("{word} 0: not modelled, not checked"));
        }
    }
    report.assumptions.push("Joist size for its span: not checked".into());
    for expected in &settings.expect {
        if !report.services.iter().any(|service| is(*expected, service)) {
            report.unanswered.push(format!(
                "The settings expect {} and the models have none: whether it cuts anything is not \
                 known. Add its model, or take it out of `expect`.",
                expected.word()
            ));
        }
    }
}

pub(crate) fn is(expected: Expected, service: &Service) -> bool {
    match expected {
        Expected::Kind(kind) => service.kind == kind,
        Expected::Trade(trade) => service.trade == trade,
    }
}

/// Centre of a service, world, metres.
pub(crate) fn centre_m(body: &ServiceBody) -> DVec3 {
    match body {
        ServiceBody::Round { from, to, .. } => from.midpoint(*to),
        ServiceBody::Rectangular { frame, .. } => frame.translation,
        ServiceBody::Mesh(mesh) => middle(&mesh.points),
        ServiceBody::Line { points } => middle(points),
    }
}

/// Axis of a straight service, end to end, world, metres.
pub(crate) fn axis_m(body: &ServiceBody) -> Option<[DVec3; 2]> {
    match body {
        ServiceBody::Round { from, to, .. } => Some([*from, *to]),
        ServiceBody::Rectangular { frame, half } => {
            let along = frame.matrix3.z_axis * half.z;
            Some([frame.translation - along, frame.translation + along])
        }
        ServiceBody::Mesh(_) | ServiceBody::Line { .. } => None,
    }
}

/// Middle of the box of points; zero without any.
fn middle(points: &[DVec3]) -> DVec3 {
    let Some(first) = points.first() else {
        return DVec3::ZERO;
    };
    let (least, greatest) =
        points.iter().fold((*first, *first), |(a, b), p| (a.min(*p), b.max(*p)));
    least.midpoint(greatest)
}
