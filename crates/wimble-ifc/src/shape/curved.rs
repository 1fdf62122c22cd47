//! Faces on curved surfaces.

use super::faces::Shell;
use super::reader::{Entity, Read, Reader};

impl<'m> Reader<'m, '_> {
    pub(super) fn curved_face(&self, face: &Entity<'m>, surface: &Entity<'m>, _shell: &mut Shell) -> Read<()> {
        let _ = face;
        self.surface(surface).map(|_| ())
    }
}
