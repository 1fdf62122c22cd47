//! Members that are alike, as the rules see them: what was worked out for one serves the next.
//!
//! The joists of a floor lie on the same walls, and mostly follow each other in the model.

use super::{Judge, RuleSettings};
use crate::pack::PackSet;
use crate::subject::product;
use rustc_hash::{FxHashMap, FxHasher};
use std::hash::Hasher;
use std::sync::{Arc, Mutex, PoisonError};
use wimble_model::{Bearing, DeckLoad, Member};

/// Judges of the members that were asked for, for all threads together: the floors of a building
/// are alike too, and what is alike but for a hair of its coordinates has some dozens of judges.
#[derive(Debug)]
pub(crate) struct Judges<'s> {
    packs: &'s PackSet,
    settings: &'s RuleSettings,
    /// By what a glance tells of their members.
    kept: Mutex<FxHashMap<u64, Vec<Kept<'s>>>>,
}

/// A judge with the member that it was made for.
type Kept<'s> = (&'s Member, Arc<Judge<'s>>);

/// Glances whose judges are kept.
const MOST_GLANCES: usize = 512;
/// Judges that are kept of one glance: products and makes of members of one shape.
const MOST_OF_A_GLANCE: usize = 8;

impl<'s> Judges<'s> {
    pub(crate) fn new(packs: &'s PackSet, settings: &'s RuleSettings) -> Self {
        Self { packs, settings, kept: Mutex::default() }
    }

    /// The judge of a member, or of one like it.
    pub(crate) fn of(&self, member: &'s Member) -> Arc<Judge<'s>> {
        let fits = |(other, judge): &&Kept<'_>| {
            // Only tables ask for a product, and names are rarely alike.
            let tables = judge.selected.packs.iter().any(|pack| !pack.tables.is_empty());
            alike(member, other) && (!tables || product(member) == product(other))
        };
        // Judges that were made before a panic elsewhere are as good as ever.
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let glance = glance(member);
        if let Some((_, judge)) = kept.get(&glance).and_then(|its| its.iter().find(fits)) {
            return Arc::clone(judge);
        }
        if kept.len() == MOST_GLANCES {
            kept.clear();
        }
        let its = kept.entry(glance).or_default();
        if its.len() == MOST_OF_A_GLANCE {
            its.remove(0);
        }
        let judge = Arc::new(Judge::of(member, self.packs, self.settings));
        its.push((member, Arc::clone(&judge)));
        judge
    }
}

/// What members that are alike have in common at a glance, and others rarely.
fn glance(member: &Member) -> u64 {
    let mut glance = FxHasher::default();
    let mut see = |mm: f64| glance.write_u64(mm.to_bits());
    see(member.length_mm);
    see(member.section.depth_mm());
    for bearing in &member.bearings {
        see(bearing.from_mm);
        see(bearing.to_mm);
    }
    glance.finish()
}

/// Whether rules find the same facts in two members, their products apart. What is not compared
/// is named, so that a new fact is not forgotten.
fn alike(one: &Member, other: &Member) -> bool {
    let Member {
        element: _,
        kind,
        role,
        with: _,
        duplicates: _,
        storey: _,
        place,
        material: _,
        make,
        section,
        varies: _,
        length_mm,
        frame: _,
        bearings,
        spans,
        spans_without_doubtful,
        open_ends,
        loads,
        load_bearing,
        notes: _,
    } = one;
    *length_mm == other.length_mm
        && *spans == other.spans
        && *section == other.section
        && (*kind, *role, *place, *make) == (other.kind, other.role, other.place, other.make)
        && *spans_without_doubtful == other.spans_without_doubtful
        && *open_ends == other.open_ends
        && *load_bearing == other.load_bearing
        && all(bearings, &other.bearings, |one, other| {
            let Bearing { from_mm, to_mm, member: _, element: _, name: _, basis, doubtful } = one;
            let place = (*from_mm, *to_mm) == (other.from_mm, other.to_mm);
            place && (*basis, *doubtful) == (other.basis, other.doubtful)
        })
        && all(loads, &other.loads, |one, other| {
            let DeckLoad { kind, name: _, from_mm, to_mm } = one;
            *kind == other.kind && (*from_mm, *to_mm) == (other.from_mm, other.to_mm)
        })
}

fn all<T>(ones: &[T], others: &[T], alike: impl Fn(&T, &T) -> bool) -> bool {
    ones.len() == others.len() && ones.iter().zip(others).all(|(one, other)| alike(one, other))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::trials::{marks, members};
    use crate::subject::{Neighbours, View};
    use wimble_model::{Basis, DeckLoadKind, Place, Role, TimberMake};

    /// The member as it is, and with one fact after the other changed that a rule may ask for.
    fn variants(member: &Member) -> Vec<Member> {
        let load = |kind| DeckLoad { kind, name: "L".to_owned(), from_mm: 300.0, to_mm: 900.0 };
        let changes: [&dyn Fn(&mut Member); 12] = [
            &|_| {},
            &|member| member.element.name = Some("of no weight".into()),
            &|member| member.material = Some("Glulam PJI 40".into()),
            &|member| member.make = TimberMake::Glulam,
            &|member| member.role = Some(Role::Trimmer),
            &|member| member.place = Place::PitchedRoof,
            &|member| member.load_bearing = Some(false),
            &|member| member.length_mm += 500.0,
            &|member| member.loads.push(load(DeckLoadKind::PartitionAcross)),
            &|member| member.loads.push(load(DeckLoadKind::Vessel)),
            &|member| member.bearings.iter_mut().for_each(|b| b.basis = Basis::Hanger),
            &|member| member.spans.iter_mut().for_each(|s| s.basis = Basis::NearContact),
        ];
        let changed = changes.iter().map(|change| {
            let mut member = member.clone();
            change(&mut member);
            member
        });
        changed.collect()
    }

    #[test]
    fn a_member_is_judged_as_by_a_judge_of_its_own() {
        let settings = RuleSettings::default();
        let mut shared = 0;
        for region in ["GB", "US", "DE"] {
            let packs = PackSet::built_in().region_set(region).unwrap();
            let all: Vec<Member> = members().iter().flat_map(variants).collect();
            let judges = Judges::new(&packs, &settings);
            for member in &all {
                let own = Judge::of(member, &packs, &settings);
                judges.of(member);
                let known = |kept: &Kept<'_>| std::ptr::eq(kept.0, member);
                shared += usize::from(!judges.kept.lock().unwrap().values().flatten().any(known));
                let judge = &judges.of(member);
                let view = View::of(member);
                let marks = marks(member);
                for &mark in &marks {
                    let told = |judge: &Judge<'_>| {
                        let outcome = judge.cut(&view, mark, Neighbours::from(&marks));
                        (outcome.verdict, outcome.margin_mm, outcome.broken.len())
                    };
                    assert_eq!(told(judge), told(&own), "{region} {member:?} {mark:?}");
                }
            }
        }
        assert!(shared > 100, "{shared}");
    }
}
