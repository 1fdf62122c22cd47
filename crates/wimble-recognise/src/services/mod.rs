//! Services: what they are, their bare shape, and which of them make one run.

mod kind;
mod lagging;
mod runs;
mod shape;
mod trade;

pub(crate) use kind::{is_untold, kind};
pub(crate) use lagging::{Covering, lagging};
pub(crate) use runs::runs;
pub(crate) use shape::{Bare, bare, line};
pub(crate) use trade::{material, trade};

mod rows;
pub(crate) use rows::{Serviced, served, services};
