//! Can it be put in: a straight pipe through holes is slid in from one end.

use crate::building::Building;
use crate::short_span::short_span;
use wimble_cross::Crosser;
use wimble_model::Finding;

/// A pipe 1200 long through the holes of three joists, with a joist beyond either end that it does
/// not pass: so much is free before its first joist, and 500 after its last.
fn notes(free_before: f64) -> Vec<Finding> {
    let mut floor = short_span(&[(12.0, 425.0)]);
    let half = floor.breadth / 2.0;
    let (first, last) = (floor.joists[0] - half, floor.joists[2] + half);
    floor.joists.insert(0, first - free_before - half);
    floor.joists.push(last + 500.0 + half);
    let Building { scene, cuts, settings, .. } = &Building::of(&floor);
    assert_eq!(cuts.len(), 3, "the pipe passes three joists");
    let crosser = Crosser::new(scene, &settings.cross);
    let noted = wimble_remedies::put_in(scene, &crosser, cuts);
    noted.iter().map(|noted| noted.finding(scene)).collect()
}

#[test]
fn a_pipe_that_has_its_length_free_at_one_end_needs_no_note() {
    assert_eq!(notes(1200.0), []);
    assert_eq!(notes(3000.0), []);
}

#[test]
fn a_pipe_that_is_longer_than_what_is_free_at_either_end_is_noted_with_the_longer() {
    let notes = notes(1199.0);
    let [note] = notes.as_slice() else { panic!("one note: {notes:?}") };
    assert_eq!(&*note.rule, "practice/room-to-put-in");
    assert!(note.message.contains("is 1200 mm long"), "{}", note.message);
    assert!(note.message.contains("holes in 3 members"), "{}", note.message);
    assert!(note.message.contains("leave 1199 mm at most"), "{}", note.message);
}
