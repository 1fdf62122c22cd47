//! From the solids of an element to straight pieces: axis, section, length and ends.
//!
//! What is found does not depend on how a solid was authored: a prism swept along the member, one
//! swept across it, a faceted brep and a tessellation give the same piece. So everything starts
//! from a [`Figure`] (points and triangles) except the plain right box, which is read directly.

mod axis;
mod ends;
mod figure;
mod frame;
mod join;
mod section;
mod slice;
mod straight;

pub(crate) use figure::{BOX_TRIANGLES, Figure, Points};
pub(crate) use frame::{Across, sides_of_plan};
pub(crate) use join::{Items, Joined, Members, boxed_in, join, touch_along};
pub(crate) use straight::{Stick, stick};
