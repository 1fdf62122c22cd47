//! Remedies in the words of the trade.

use std::fmt::Display;
use wimble_model::{Cut, Member, Service, ServiceKind, Trade};

/// `140`, or `7.3` where it is not whole.
pub(crate) fn mm(value: f64) -> impl Display {
    let value = value.abs();
    let whole = value.round();
    std::fmt::from_fn(move |f| {
        if (value - whole).abs() < 0.05 {
            write!(f, "{} mm", whole as u64)
        } else {
            write!(f, "{value:.1} mm")
        }
    })
}

/// A service as it is called: its name, else what it is.
pub(crate) fn service(service: &Service) -> String {
    if let Some(name) = service.element.name.as_deref().filter(|n| !n.trim().is_empty()) {
        return format!("“{name}”");
    }
    let what = match (service.trade, service.kind) {
        (Trade::Soil, _) => "the soil pipe",
        (Trade::Waste, _) => "the waste",
        (Trade::Flue, _) => "the flue",
        (Trade::Gas, _) => "the gas pipe",
        (Trade::Heating, _) => "the heating pipe",
        (Trade::Water, _) => "the water pipe",
        (_, ServiceKind::Duct) => "the duct",
        (_, ServiceKind::Cable) => "the cable",
        (_, ServiceKind::Carrier) => "the conduit",
        _ => "the service",
    };
    what.to_owned()
}

/// A member as it is called.
pub(crate) fn member(member: &Member) -> String {
    match member.element.name.as_deref().filter(|n| !n.trim().is_empty()) {
        Some(name) => name.to_owned(),
        None => format!("{} {}", member.kind.word(), member.element.guid),
    }
}

/// `J1`, `J1 and J2`, `J1, J2, J3 and 4 more`.
pub(crate) fn list(mut names: Vec<String>) -> String {
    if names.len() > 4 {
        let more = names.len() - 3;
        names.truncate(3);
        return format!("{} and {more} more", names.join(", "));
    }
    match names.pop() {
        None => String::new(),
        Some(last) if names.is_empty() => last,
        Some(last) => format!("{} and {last}", names.join(", ")),
    }
}

/// Which way along a member: up or down a stud, else towards the support on that side.
pub(crate) fn way_along(member: &Member, cut: &Cut, along_mm: f64) -> String {
    let forward = along_mm > 0.0;
    if member.frame.x.z.abs() > 0.5 {
        return if forward == (member.frame.x.z > 0.0) { "up" } else { "down" }.to_owned();
    }
    let span = cut.span.and_then(|n| member.spans.get(n as usize));
    let bearing = span.and_then(|s| if forward { s.to_bearing } else { s.from_bearing });
    match bearing.and_then(|n| member.bearings.get(n as usize)) {
        Some(bearing) if !bearing.name.trim().is_empty() => format!("towards {}", bearing.name),
        _ => {
            let way = if forward { member.frame.x } else { -member.frame.x };
            format!("{} along {}", compass(way), self::member(member))
        }
    }
}

/// `raise`, `lower`, or across a wall.
pub(crate) fn up_or_down(member: &Member, up_mm: f64, what: &str) -> String {
    if member.frame.z.z.abs() < 0.5 {
        let way = if up_mm > 0.0 { member.frame.z } else { -member.frame.z };
        return format!("Move {what} {} {} across the wall", mm(up_mm), compass(way));
    }
    let verb = if up_mm > 0.0 { "Raise" } else { "Lower" };
    format!("{verb} {what} by {}", mm(up_mm))
}

/// `up`, `down`, or which way across a wall.
pub(crate) fn up_or_across(member: &Member, up_mm: f64) -> String {
    let steep = member.frame.z.z.abs() < 0.5;
    match (steep, up_mm > 0.0) {
        (true, true) => format!(" {} across the wall", compass(member.frame.z)),
        (true, false) => format!(" {} across the wall", compass(-member.frame.z)),
        (false, true) => " up".to_owned(),
        (false, false) => " down".to_owned(),
    }
}

/// A direction in plan, with +Y of the model as north, as ends and faces are called.
pub(crate) fn compass(way: glam::DVec3) -> &'static str {
    if way.x.abs() >= way.y.abs() {
        if way.x > 0.0 { "towards the east" } else { "towards the west" }
    } else if way.y > 0.0 {
        "towards the north"
    } else {
        "towards the south"
    }
}

/// What is said of a drain that moves.
pub(crate) const fn drains(trade: Trade) -> bool {
    matches!(trade, Trade::Soil | Trade::Waste)
}
