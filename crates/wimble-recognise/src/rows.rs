//! Members as rows: what each is among its neighbours, and what should be said of it.

use crate::body_voids::{Drawn, drawn};
use crate::candidate::Candidate;
use crate::kinds::{First, Pitch, are_plies, carried, later, roles};
use crate::neighbours::Neighbours;
use crate::pieces::Piece;
use crate::place::{loads, places};
use crate::stick::Stick;
use crate::supports::Supported;
use rayon::prelude::*;
use thin_vec::ThinVec;
use wimble_model::{
    Bearing, Element, Member, MemberIx, MemberKind, Note, Place, Role, Section, Storey,
};

/// The members, parallel to the pieces.
pub(crate) fn members(
    (pieces, near): (&[Piece], &Neighbours),
    candidates: &[Candidate],
    firsts: &[First],
    pitch: &[Pitch],
    supports: Vec<Supported>,
    twins: Vec<ThinVec<Element>>,
    storeys: &[Storey],
) -> Vec<Member> {
    let sticks: Vec<&Stick> = pieces.iter().map(|p| &*p.stick).collect();
    let bearing_lists: Vec<&[Bearing]> = supports.iter().map(|s| s.bearings.as_slice()).collect();
    let mut carried = carried(&sticks, &bearing_lists);
    let mut kinds: Vec<MemberKind> = (0..pieces.len())
        .into_par_iter()
        .filter_map(|i| {
            Some(later(
                *firsts.get(i)?,
                sticks[i],
                *pitch.get(i)?,
                carried.get(i)?,
                bearing_lists.get(i)?,
                supports.get(i)?.along,
            ))
        })
        .collect();
    // Strutting hangs between joists but makes none of them a trimming joist.
    carried.par_iter_mut().for_each(|row| {
        row.ends.retain(|(who, _)| kinds.get(*who as usize) != Some(&MemberKind::Blocking));
    });
    let roles = roles(&sticks, &kinds, firsts, &bearing_lists, &carried);
    // What a row of joists hangs on in the way of a trimmer is judged as one of the floor's joists.
    for (kind, role) in kinds.iter_mut().zip(&roles) {
        if *kind == MemberKind::Unknown && role.is_some() {
            *kind = MemberKind::Beam;
        }
    }
    let (plies, (places, loads)) = rayon::join(
        || plies(&sticks, near, &kinds),
        || {
            rayon::join(
                || places(pieces, &kinds, candidates, storeys),
                || loads(pieces, &kinds, pitch, candidates, &bearing_lists),
            )
        },
    );
    let rows = pieces.par_iter().zip(supports).zip(twins).zip(plies).zip(loads).enumerate();
    rows.map(|(i, ((((piece, support), duplicates), with), loads))| {
        let candidate = candidates.get(piece.candidate as usize);
        let role = role_with(i, &with, &roles);
        let mut element = candidate.map(|c| c.element.clone()).unwrap_or_default();
        element.item = piece.item;
        let mut notes = support.notes;
        notes.extend(own_notes(piece, candidate));
        notes.shrink_to_fit();
        Member {
            element,
            kind: kinds.get(i).copied().unwrap_or(MemberKind::Unknown),
            role,
            with,
            duplicates,
            storey: candidate.and_then(|c| c.storey),
            place: places.get(i).copied().unwrap_or(Place::Unknown),
            material: candidate.and_then(|c| c.materials.called()),
            make: piece.evidence.make(),
            section: piece.stick.section,
            varies: piece.stick.varies,
            length_mm: piece.stick.length_mm,
            frame: piece.stick.frame,
            bearings: support.bearings,
            spans: support.spans,
            spans_without_doubtful: support.without_doubtful,
            open_ends: support.open_ends,
            loads,
            load_bearing: candidate.and_then(|c| {
                c.load_bearing.or_else(|| candidates.get(c.whole? as usize)?.load_bearing)
            }),
            notes,
        }
    })
    .collect()
}

/// Plies of each member.
fn plies(sticks: &[&Stick], near: &Neighbours, kinds: &[MemberKind]) -> Vec<ThinVec<MemberIx>> {
    let level = |i: usize| {
        matches!(
            kinds.get(i),
            Some(
                MemberKind::Joist
                    | MemberKind::Beam
                    | MemberKind::Lintel
                    | MemberKind::Rafter
                    | MemberKind::Unknown
            )
        )
    };
    near.map(|found, at| {
        let i = at as usize;
        let Some(stick) = sticks.get(i).filter(|_| level(i)) else { return ThinVec::new() };
        near.near_into(stick.figure.world_box().grown(0.02), found);
        let others = found.iter().map(|&j| j as usize).filter(|&j| j != i && level(j));
        others.filter(|&j| are_plies(stick, sticks[j])).map(MemberIx::from).collect()
    })
}

/// Remarks about the piece itself.
fn own_notes(piece: &Piece, candidate: Option<&Candidate>) -> Vec<Note> {
    let mut notes = Vec::new();
    let evidence = &piece.evidence;
    if evidence.is_contradictory() {
        notes.push(Note::from(format!(
            "taken for timber, though {}",
            evidence.against.joined(", ")
        )));
    } else if !evidence.has_material {
        notes.push(Note::from(format!(
            "no material is stated: taken for timber by {}",
            evidence.for_it.joined(" and ")
        )));
    }
    let told = candidate
        .and_then(|c| named_size(c.element.name.as_deref().unwrap_or_default(), &c.of_type.text));
    let size = [piece.stick.section.breadth_mm(), piece.stick.section.depth_mm()];
    if let Some([a, b]) = told {
        let fits = |a: f64, b: f64| (a - size[0]).abs() <= 2.0 && (b - size[1]).abs() <= 2.0;
        let rectangle =
            matches!(piece.stick.section, Section::Rectangle { .. }) && !piece.stick.varies;
        if rectangle && !fits(a, b) && !fits(b, a) {
            notes.push(Note::from(format!(
                "its name says {a:.0} × {b:.0} but it is modelled {:.0} × {:.0}: the modelled size is used",
                size[0], size[1]
            )));
        }
    }
    if matches!(drawn(&piece.stick), Drawn::Unread) {
        notes.push(Note::from(
            "something is missing from its body that could not be told apart: cuts are judged as \
             if the member were whole",
        ));
    }
    if piece.stick.varies {
        notes.push(Note::from("tapered or curved: depth and level are those at each cut"));
    }
    notes
}

/// A size such as `47x220` in a name, mm.
fn named_size(name: &str, type_text: &str) -> Option<[f64; 2]> {
    [name, type_text].into_iter().find_map(|text| {
        let mut before = ' ';
        text.char_indices().find_map(|(at, letter)| {
            let begins = is_of_number(letter) && !is_of_number(before);
            before = letter;
            if begins { leading_size(text.get(at..)?) } else { None }
        })
    })
}

/// The size that a text begins with, if it begins with one that a member has.
fn leading_size(text: &str) -> Option<[f64; 2]> {
    let (a, rest) = leading_number(text)?;
    let rest = rest.trim_start_matches(' ').strip_prefix(['x', 'X', '×'])?;
    let (b, after) = leading_number(rest.trim_start_matches(' '))?;
    // A third figure makes it a length or a multiple; inches are not read.
    let plain = !after.starts_with(['x', 'X', '×', '"', '/']);
    (plain && (20.0..=1000.0).contains(&a) && (20.0..=1000.0).contains(&b)).then_some([a, b])
}

fn leading_number(text: &str) -> Option<(f64, &str)> {
    let end = text.find(|c| !is_of_number(c)).unwrap_or(text.len());
    let (number, rest) = text.split_at(end);
    Some((number.parse().ok()?, rest))
}

const fn is_of_number(letter: char) -> bool {
    letter.is_ascii_digit() || letter == '.'
}

/// A built-up trimmer or trimming joist is one, whichever ply carries the ends; any other built-up
/// member is told by its plies.
fn role_with(i: usize, with: &[MemberIx], roles: &[Option<Role>]) -> Option<Role> {
    let own = roles.get(i).copied().flatten();
    if with.is_empty() {
        return own;
    }
    let any = |role: Role| {
        own == Some(role) || with.iter().any(|ply| roles.get(ply.at()) == Some(&Some(role)))
    };
    [Role::Trimmer, Role::Trimming].into_iter().find(|role| any(*role)).or(Some(Role::Ply))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_read_where_a_name_says_two_figures() {
        for (name, size) in [
            ("Joist 47x220", Some([47.0, 220.0])),
            ("47 X 220", Some([47.0, 220.0])),
            ("B2: 44.5×195 C24", Some([44.5, 195.0])),
            ("×× 1.2.3 60x160", Some([60.0, 160.0])),
            ("rafter of 47x", None),
            ("47x220x4800", None),
            ("2x4\"", None),
            ("2x10", None),
            ("47/220", None),
            ("", None),
        ] {
            assert_eq!(named_size(name, ""), size, "{name}");
            assert_eq!(named_size("J12", name), size, "{name}");
        }
        assert_eq!(named_size("60x160", "47x220"), Some([60.0, 160.0]));
    }

    #[test]
    fn both_plies_of_a_trimmer_are_trimmers() {
        let roles = [Some(Role::Trimmer), None, None, Some(Role::Trimmed)];
        let role = |i: usize, with: &[u32]| {
            role_with(i, &with.iter().copied().map(MemberIx).collect::<Vec<_>>(), &roles)
        };
        assert_eq!(role(0, &[1]), Some(Role::Trimmer));
        assert_eq!(role(1, &[0]), Some(Role::Trimmer));
        assert_eq!(role(2, &[3]), Some(Role::Ply));
        assert_eq!(role(3, &[]), Some(Role::Trimmed));
    }
}
