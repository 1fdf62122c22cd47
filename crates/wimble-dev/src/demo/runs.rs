//! The services, as runs: centre lines in millimetres of the building, and what they are.

/// A run of one size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Trade name, unique; the run's pieces are called after it.
    pub name: &'static str,
    /// What it is.
    pub what: What,
    /// The system that it belongs to.
    pub system: &'static str,
    /// Outside diameter, mm.
    pub outside: f64,
    /// Corners of the centre line, mm.
    pub line: &'static [[f64; 3]],
}

/// What a run is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// Copper tube.
    Copper,
    /// Steel tube.
    Steel,
    /// Waste in solvent-weld plastic.
    Waste,
    /// Soil pipe.
    Soil,
    /// Round sheet-metal duct.
    Duct,
    /// Sheathed cable.
    Cable,
    /// Conduit for cables.
    Conduit,
}

/// Systems by name, with what they are for.
pub const SYSTEMS: [(&str, &str); 6] = [
    ("Soil and waste", "WASTEWATER"),
    ("Heating", "HEATING"),
    ("Hot and cold water", "DOMESTICHOTWATER"),
    ("Gas", "GAS"),
    ("Ventilation", "VENTILATION"),
    ("Electrical", "ELECTRICAL"),
];

const WASTE: &str = "Soil and waste";
const HEATING: &str = "Heating";
const WATER: &str = "Hot and cold water";
const GAS: &str = "Gas";
const AIR: &str = "Ventilation";
const POWER: &str = "Electrical";

const fn run(
    name: &'static str,
    what: What,
    system: &'static str,
    outside: f64,
    line: &'static [[f64; 3]],
) -> Run {
    Run { name, what, system, outside, line }
}

use What::{Cable, Conduit, Copper, Duct, Soil, Steel, Waste};

/// Every run of the building.
#[rustfmt::skip]
pub const RUNS: &[Run] = &[
    run("bath waste", Waste, WASTE, 43.0, &[[1500.0, 1100.0, 2524.85], [275.0, 1100.0, 2502.8]]),
    run("soil stack 1", Soil, WASTE, 110.0, &[[275.0, 1100.0, 0.0], [275.0, 1100.0, 3000.0]]),
    run("soil stack 2", Soil, WASTE, 110.0, &[[4100.0, 2000.0, 0.0], [4100.0, 2000.0, 3000.0]]),
    run("WC branch 1", Soil, WASTE, 110.0, &[[275.0, 2400.0, 2483.4], [275.0, 1100.0, 2460.0]]),
    run("WC branch 2", Soil, WASTE, 110.0, &[[4948.5, 3100.0, 2494.4], [4948.5, 2300.0, 2480.0]]),
    run("heating a flow", Copper, HEATING, 22.0, &[[3500.0, 1150.0, 2510.0], [5000.0, 1150.0, 2510.0]]),
    run("heating a return", Copper, HEATING, 22.0, &[[3500.0, 1250.0, 2510.0], [5000.0, 1250.0, 2510.0]]),
    run("heating b flow", Copper, HEATING, 22.0, &[[5100.0, 1150.0, 2510.0], [5900.0, 1150.0, 2510.0]]),
    run("heating b return", Copper, HEATING, 22.0, &[[5100.0, 1210.0, 2510.0], [5900.0, 1210.0, 2510.0]]),
    run("radiator flow", Copper, HEATING, 15.0, &[[3500.0, 500.0, 2610.0], [5900.0, 500.0, 2610.0]]),
    run("radiator return", Copper, HEATING, 15.0, &[[3500.0, 535.0, 2610.0], [5900.0, 535.0, 2610.0]]),
    run("main flow", Copper, HEATING, 22.0, &[[1550.0, 640.0, 2606.5], [2200.0, 640.0, 2606.5]]),
    run("main return", Copper, HEATING, 22.0, &[[1550.0, 666.0, 2606.5], [2200.0, 666.0, 2606.5]]),
    run("gas", Steel, GAS, 28.0, &[[2300.0, 540.0, 2603.5], [3100.0, 540.0, 2603.5], [3100.0, 800.0, 2603.5], [3450.0, 800.0, 2603.5]]),
    run("basin waste", Waste, WASTE, 36.0, &[[5875.0, 970.0, 2515.091], [6275.0, 1370.0, 2504.909]]),
    run("cable 1", Cable, POWER, 12.0, &[[1550.0, 1336.0, 2510.0], [2200.0, 1336.0, 2510.0]]),
    run("cable 2", Cable, POWER, 12.0, &[[1550.0, 1350.0, 2510.0], [2200.0, 1350.0, 2510.0]]),
    run("cable 3", Cable, POWER, 12.0, &[[1550.0, 1364.0, 2510.0], [2200.0, 1364.0, 2510.0]]),
    run("cable mid", Cable, POWER, 12.0, &[[2300.0, 1700.0, 2510.0], [3000.0, 1700.0, 2510.0]]),
    run("cable east", Cable, POWER, 12.0, &[[6300.0, 1150.0, 2510.0], [7195.0, 1150.0, 2510.0]]),
    run("cable deep", Cable, POWER, 12.0, &[[7000.0, 4600.0, 2482.5], [7195.0, 4600.0, 2482.5]]),
    run("towel rail", Copper, HEATING, 15.0, &[[5950.0, 600.0, 2610.0], [6200.0, 600.0, 2610.0]]),
    run("condensate", Waste, WASTE, 21.5, &[[5950.0, 720.0, 2413.25], [6200.0, 720.0, 2413.25]]),
    run("overflow", Waste, WASTE, 21.5, &[[4350.0, 3000.0, 2413.25], [4600.0, 3000.0, 2413.25]]),
    run("cold 15", Copper, WATER, 15.0, &[[0.0, 880.0, 2610.0], [200.0, 880.0, 2610.0]]),
    run("cold 22", Copper, WATER, 22.0, &[[0.0, 963.5, 2510.0], [200.0, 963.5, 2510.0]]),
    run("extract", Duct, AIR, 100.0, &[[2700.0, 1200.0, 2510.0], [3050.0, 1200.0, 2510.0]]),
    run("landing 15", Copper, HEATING, 15.0, &[[2700.0, 4300.0, 2510.0], [6300.0, 4300.0, 2510.0]]),
    run("at trimmer", Copper, HEATING, 15.0, &[[2800.0, 5530.0, 2610.0], [5380.0, 5530.0, 2610.0]]),
    run("proud", Copper, HEATING, 15.0, &[[5600.0, 4100.0, 2620.0], [6700.0, 4100.0, 2620.0]]),
    run("cylinder primary", Copper, HEATING, 28.0, &[[6400.0, 4600.0, 2510.0], [6650.0, 4600.0, 2510.0]]),
    run("soffit pipe", Copper, WATER, 22.0, &[[1550.0, 500.0, 2389.0], [2200.0, 500.0, 2389.0]]),
    run("side pipe", Copper, WATER, 15.0, &[[1306.0, 300.0, 2560.0], [1306.0, 1700.0, 2560.0]]),
    run("through trimmer", Copper, HEATING, 22.0, &[[4000.0, 5500.0, 2510.0], [4000.0, 5800.0, 2510.0]]),
    run("through glulam", Copper, WATER, 22.0, &[[9000.0, 6600.0, 2208.5], [9000.0, 6900.0, 2208.5]]),
    run("through post", Copper, WATER, 22.0, &[[7900.0, 6750.0, 1000.0], [8100.0, 6750.0, 1000.0]]),
    run("MVHR 1", Duct, AIR, 125.0, &[[9400.0, 300.0, 2500.0], [9400.0, 3400.0, 2500.0]]),
    run("MVHR 2", Duct, AIR, 125.0, &[[9400.0, 3800.0, 2493.0], [9400.0, 6500.0, 2493.0]]),
    run("utility waste", Waste, WASTE, 43.0, &[[8300.0, 600.0, 2440.0], [8300.0, 1500.0, 2440.0]]),
    run("heating in knock-outs", Copper, HEATING, 15.0, &[[8700.0, 300.0, 2500.0], [8700.0, 3400.0, 2500.0]]),
    run("soil in garage floor", Soil, WASTE, 110.0, &[[8200.0, 3800.0, 2455.0], [8200.0, 4700.0, 2455.0]]),
    run("porch duct", Duct, AIR, 200.0, &[[-1500.0, 1300.0, 2485.0], [-1500.0, 2000.0, 2485.0]]),
    run("porch cable", Cable, POWER, 12.0, &[[-1900.0, 1000.0, 2485.0], [-1900.0, 2700.0, 2485.0]]),
    // 353, not 352: bare it touches the ledger's face and no more.
    run("porch end cable", Cable, POWER, 12.0, &[[-353.0, 1000.0, 2485.0], [-353.0, 2700.0, 2485.0]]),
    run("ceiling cable 1", Cable, POWER, 12.0, &[[-2600.0, 1300.0, 2288.5], [-2200.0, 1300.0, 2288.5]]),
    run("ceiling cable 2", Cable, POWER, 12.0, &[[-2200.0, 1500.0, 2248.5], [-1800.0, 1500.0, 2248.5]]),
    run("wall pipe 15", Copper, WATER, 15.0, &[[500.0, 3650.0, 3400.0], [2000.0, 3650.0, 3400.0]]),
    run("wall pipe 22", Copper, WATER, 22.0, &[[2900.0, 3650.0, 3400.0], [4300.0, 3650.0, 3400.0]]),
    run("riser", Copper, HEATING, 22.0, &[[4400.0, 3650.0, 2500.0], [4400.0, 3650.0, 5200.0]]),
    run("basin waste 2", Waste, WASTE, 36.0, &[[3298.5, 300.0, 3100.0], [3298.5, 3500.0, 3100.0]]),
    run("duct riser", Duct, AIR, 125.0, &[[9240.0, 2000.0, 2700.0], [9240.0, 2000.0, 5400.0]]),
    run("roof conduit", Conduit, POWER, 25.0, &[[0.0, 1000.0, 5900.0], [2000.0, 1000.0, 5900.0]]),
];
