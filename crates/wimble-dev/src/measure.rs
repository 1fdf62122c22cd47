//! One stage on a fixed tower, on one thread, for counting instructions (`.ci/instructions`).
//!
//! Only what runs inside [`counted_stage`] is to be counted: the tool that counts is told to
//! collect in this function alone. Each stage checks its result, so that a stage that does
//! nothing cannot look fast.

use anyhow::{Context, Result, ensure};
use wimble_cross::CrossSettings;
use wimble_dev::tower::{Tower, Written};
use wimble_ifc::Model;
use wimble_recognise::{Input, RecogniseSettings, Scene, Source};
use wimble_rules::{Judgement, PackSet, RuleSettings, Situation};
use wimble_step::{StepFile, Value};

#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Which stage
    #[arg(value_enum)]
    stage: Stage,
    /// Joists of the tower
    #[arg(long, default_value_t = 2000)]
    members: usize,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Stage {
    /// Where each record stands, its name and keyword
    Index,
    /// Every value of every record
    Decode,
    /// The cuts of all members
    Crossing,
    /// What the rules say of every cut
    Judging,
}

pub(crate) fn run(arguments: &Arguments) -> Result<()> {
    rayon::ThreadPoolBuilder::new().num_threads(1).use_current_thread().build_global()?;
    let mut bytes = Vec::new();
    let written = Tower { members: arguments.members }.write(&mut bytes)?;
    match arguments.stage {
        Stage::Index => index(&bytes, &written),
        Stage::Decode => decode(&bytes, &written),
        Stage::Crossing => crossing(&bytes, &written),
        Stage::Judging => judging(&bytes, &written),
    }
}

/// The one function whose instructions are counted, with all that it calls.
#[inline(never)]
fn counted_stage(work: &mut dyn FnMut()) {
    work();
}

fn index(bytes: &[u8], written: &Written) -> Result<()> {
    let mut found = 0;
    counted_stage(&mut || found = StepFile::index(bytes).map_or(0, |file| file.len() as u64));
    ensure!(found == written.instances, "{found} of {} instances", written.instances);
    Ok(())
}

fn decode(bytes: &[u8], written: &Written) -> Result<()> {
    let file = StepFile::index(bytes)?;
    let (mut references, mut numbers) = (0u64, 0.0);
    counted_stage(&mut || {
        for row in file.rows() {
            let record = file.record(row);
            for place in 0..record.len() {
                match record.get(place) {
                    Value::Reference(_) => references += 1,
                    Value::Real(number) => numbers += number,
                    Value::List(list) => numbers += list.numbers().sum::<f64>(),
                    _ => {}
                }
            }
        }
    });
    // Every element refers at least to its placement and its shape.
    ensure!(
        references > 4 * written.members && numbers > 0.0,
        "{references} references, {numbers}"
    );
    Ok(())
}

fn crossing(bytes: &[u8], written: &Written) -> Result<()> {
    let scene = scene(bytes)?;
    let mut cuts = 0;
    counted_stage(&mut || {
        cuts = wimble_cross::cross(&scene, &CrossSettings::default()).len() as u64;
    });
    ensure!(cuts == written.cuts, "{cuts} of {} cuts", written.cuts);
    Ok(())
}

fn judging(bytes: &[u8], written: &Written) -> Result<()> {
    let scene = scene(bytes)?;
    let cuts = wimble_cross::cross(&scene, &CrossSettings::default());
    let packs = PackSet::built_in().region_set("GB")?;
    let (members, services, openings) = (&*scene.members, &*scene.services, &*scene.openings);
    let situation = Situation { members, services, openings, cuts: &cuts };
    let mut judgement = Judgement::default();
    counted_stage(&mut || {
        judgement = wimble_rules::check(&situation, &packs, &RuleSettings::default());
    });
    let judged = judgement.cuts.len() as u64;
    ensure!(judged == written.cuts, "{judged} of {} cuts", written.cuts);
    ensure!(!judgement.findings.is_empty(), "nothing was found");
    Ok(())
}

fn scene(bytes: &[u8]) -> Result<Scene> {
    let model = Model::open(bytes).context("the tower is no model")?;
    let source = Source { input: Input::default(), model: &model };
    Ok(wimble_recognise::recognise(&[source], &RecogniseSettings::default()))
}
