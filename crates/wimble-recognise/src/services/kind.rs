//! What a service is: from its class, else its type's class (IFC2X3), else its words.

use crate::candidate::{Candidate, Family};
use crate::words::{Topic, Topics};
use wimble_model::ServiceKind;

/// What a service is.
pub(crate) fn kind(candidate: &Candidate, words: Topics) -> ServiceKind {
    let class = |part: &str| {
        candidate.element.class.contains(part) || candidate.of_type.class.contains(part)
    };
    match candidate.family {
        Family::FlowFitting => return ServiceKind::Fitting,
        Family::FlowTerminal => return ServiceKind::Terminal,
        _ => {}
    }
    if class("PipeSegment") {
        return ServiceKind::Pipe;
    }
    if class("DuctSegment") {
        return ServiceKind::Duct;
    }
    if class("CableCarrier") {
        return ServiceKind::Carrier;
    }
    if class("CableSegment") {
        return ServiceKind::Cable;
    }
    if class("Fitting") {
        return ServiceKind::Fitting;
    }
    let by_words = [
        (Topic::Carrier, ServiceKind::Carrier),
        (Topic::Cable, ServiceKind::Cable),
        (Topic::Duct, ServiceKind::Duct),
        (Topic::Pipe, ServiceKind::Pipe),
    ];
    let said = by_words.iter().find(|(topic, _)| words.has(*topic)).map(|(_, kind)| *kind);
    said.unwrap_or(ServiceKind::Other)
}

/// What a flow segment without any word is by its shape: rectangular ones are ducts.
pub(crate) const fn is_untold(kind: ServiceKind) -> bool {
    matches!(kind, ServiceKind::Other)
}
