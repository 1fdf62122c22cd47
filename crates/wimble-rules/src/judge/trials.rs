//! Members and cuts that short and long ways are held together by.

use crate::by_hand::member_by_hand;
use crate::pack::ALL_KINDS;
use crate::subject::{Mark, service_bit, trade_bit};
use crate::windows::Probe;
use wimble_model::{CutKind, Member, MemberKind, Section, ServiceKind, Span, TimberMake, Trade};

pub(super) fn members() -> Vec<Member> {
    let rectangle = Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 };
    let i_joist =
        Section::IJoist { breadth_mm: 63.5, depth_mm: 240.0, flange_mm: 45.0, web_mm: 10.0 };
    let mut members = Vec::new();
    for kind in [MemberKind::Joist, MemberKind::Stud, MemberKind::Plate, MemberKind::Unknown] {
        for section in [rectangle, i_joist] {
            for span in [0.0, 1800.0, 4200.0] {
                let mut member = member_by_hand(kind, section, span);
                member.make = TimberMake::Solid;
                members.push(member.clone());
                // Two spans, one of them doubtful at its end.
                if let Some(first) = member.spans.first().copied() {
                    let middle = f64::midpoint(first.from_mm, first.to_mm);
                    let half = |from_mm, to_mm| Span { from_mm, to_mm, ..first };
                    member.spans = [half(first.from_mm, middle), half(middle, first.to_mm)].into();
                    members.push(member);
                }
            }
        }
    }
    members
}

/// Cuts of every kind along a member, with services of several trades.
pub(super) fn marks(member: &Member) -> Vec<Mark> {
    let mut marks = Vec::new();
    for (n, kind) in ALL_KINDS.into_iter().enumerate() {
        for (size, part) in [(20.0, 0.1), (45.0, 0.3), (110.0, 0.5)] {
            let probe = match kind {
                CutKind::TopNotch | CutKind::BottomNotch => Probe::notch(kind, size, size),
                _ => Probe::hole(size, 0.2 * size).as_kind(kind),
            };
            let mut mark = probe.at(part * member.length_mm, member);
            mark.cut = u32::try_from(marks.len()).unwrap();
            let trade = [Trade::Gas, Trade::Waste, Trade::Electric][n % 3];
            mark.trades |= trade_bit(trade);
            mark.services |= service_bit(ServiceKind::Pipe);
            mark.sizes_known = n % 5 > 0;
            marks.push(mark);
        }
    }
    marks
}
