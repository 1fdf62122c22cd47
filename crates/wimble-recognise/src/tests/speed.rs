//! How long a very large building takes: run by hand (`cargo test --release -p wimble-recognise
//! speed -- --ignored --nocapture`).

use super::*;
use wimble_geom::Cylinder;

#[test]
#[ignore = "measures time"]
fn a_building_of_200_000_joists_and_200_000_pipes() {
    let mut all = Vec::new();
    let storeys = 20;
    let mut number = 0;
    for storey in 0..storeys {
        let z = 3000.0 * f64::from(storey);
        for bay in 0..100 {
            let y = 3700.0 * f64::from(bay);
            all.push(wall(
                &format!("W-{storey}-{bay}"),
                [0.0, y - 100.0, z],
                [40_000.0, y, z + 2400.0],
            ));
            for n in 0..100 {
                number += 1;
                let x = 200.0 + 400.0 * f64::from(n);
                let body =
                    block([x - 23.5, y - 100.0, z + 2400.0], [x + 23.5, y + 3700.0, z + 2620.0], 1);
                all.push(timber(&format!("J-{number}"), body));
                let from = DVec3::new(x, y + 1300.0, z + 2510.0) / 1000.0;
                let pipe =
                    Cylinder { from, to: from + 0.395 * DVec3::X, radius: 0.011, inner: None };
                all.push(element(
                    Family::FlowSegment,
                    &format!("P-{number}"),
                    "copper",
                    vec![Solid::Cylinder(pipe)],
                ));
            }
        }
    }
    let start = std::time::Instant::now();
    let scene = scene_of(all);
    println!(
        "{} members, {} services: {:?}",
        scene.members.len(),
        scene.services.len(),
        start.elapsed()
    );
    assert_eq!(scene.members.len(), 200_000);
    assert_eq!(scene.services.len(), 200_000);
}
