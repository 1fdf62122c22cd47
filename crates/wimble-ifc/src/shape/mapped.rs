//! Items that are drawn once and used in many places.

use super::Item;
use super::reader::{Entity, Read, Reader};
use glam::DAffine3;

impl<'m> Reader<'m, '_> {
    /// The mapped representation and the map: target times origin.
    pub(super) fn map_of(&self, entity: &Entity<'m>) -> Read<(Entity<'m>, DAffine3)> {
        let source = self.part(entity, 0, "MappingSource")?;
        let target = self.operator(&self.part(entity, 1, "MappingTarget")?)?;
        let origin = self.frame_or_none(&source, 0)?;
        if !origin.abs_diff_eq(DAffine3::IDENTITY, 1e-9) {
            self.remark(
                source.row,
                format!(
                    "{} has an origin of its own; it is applied before the target",
                    source.label()
                ),
            );
        }
        let representation = self.part(&source, 1, "MappedRepresentation")?;
        Ok((representation, target * origin))
    }

    pub(super) fn append_mapped(&self, entity: &Entity<'m>, items: &mut Vec<Item>) {
        let first = items.len();
        let read = self.deeper(entity, || {
            let (representation, map) = self.map_of(entity)?;
            self.count(entity, 1)?;
            for part in self.parts(&representation, 3) {
                self.append_items(&part, items);
            }
            for item in items.iter_mut().skip(first) {
                item.move_by(&map);
            }
            Ok(())
        });
        self.met(entity, read.is_ok());
        if let Err(trouble) = read {
            items.truncate(first);
            items.push(Item::unreadable(entity.row, trouble));
        } else if items.len() == first {
            let trouble = entity.trouble("maps a representation without items");
            items.push(Item::unreadable(entity.row, trouble));
        }
    }
}
