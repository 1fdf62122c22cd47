//! What carries a member, where, and the spans between.

mod bearings;
mod carriers;
mod reach;
mod spans;

pub(crate) use bearings::bearings;
pub(crate) use carriers::{Carrier, CarrierSort, Carriers, Who};
pub(crate) use reach::{Region, Shape, reach};
pub(crate) use spans::{Supported, stated, supported};
