//! Surfaces.

use super::reader::{Entity, Read, Reader};
use glam::DVec3;

/// A surface with parameters.
pub(super) struct Surface {}

impl Surface {
    pub(super) fn normal_near(&self, _point: DVec3) -> Option<DVec3> {
        None
    }
}

impl<'m> Reader<'m, '_> {
    pub(super) fn surface(&self, entity: &Entity<'m>) -> Read<Surface> {
        Err(entity.trouble("is a surface of a kind that is not read"))
    }
}
