//! Which of a product's representations is its body, and which its axis.

use super::reader::{Entity, Reader};
use super::{Body, Item};
use crate::Model;
use glam::DVec3;
use smallvec::SmallVec;
use std::borrow::Cow;
use wimble_step::{Record, Row};

/// Representations that show a product otherwise than by its body.
const OTHER_VIEWS: [&str; 16] = [
    "Axis",
    "Box",
    "FootPrint",
    "Reference",
    "Clearance",
    "Profile",
    "CoG",
    "Annotation",
    "Lighting",
    "SurveyPoints",
    "Plan",
    "GeneratedFootPrint",
    "RoofFootPrint",
    "Bounding Box",
    "BoundingBox",
    "Facetation-FootPrint",
];

/// A product's representations with their identifiers; most have one.
type Representations<'m> = SmallVec<[(Cow<'m, str>, Entity<'m>); 1]>;

impl<'m> Reader<'m, '_> {
    fn representations(&self, model: &Model<'_>, whole: &Entity<'m>) -> Representations<'m> {
        let mut found = Representations::new();
        let Some(place) = model.position(whole.row, "Representation") else { return found };
        let Ok(definition) = self.part(whole, place, "Representation") else { return found };
        self.each(&definition, definition.get(2), |representation| {
            let identifier = match representation.get(1).text().unwrap_or_default() {
                Cow::Borrowed(text) => Cow::Borrowed(text.trim()),
                Cow::Owned(text) => Cow::Owned(text.trim().to_owned()),
            };
            found.push((identifier, representation));
        });
        found
    }

    pub(super) fn body(
        &self,
        model: &Model<'_>,
        product: Record<'m>,
        identifiers: &[&'static str],
    ) -> Body {
        let product = Entity::of(product);
        let all = self.representations(model, &product);
        let mut lines: Option<Body> = None;
        for wanted in identifiers {
            let found =
                all.iter().filter(|(identifier, _)| identifier.eq_ignore_ascii_case(wanted));
            let body = self.read_all(Cow::Borrowed(wanted), found.map(|(_, r)| r));
            // A body of which nothing can be read, as one of lines, gives way to the next.
            if body.items.iter().any(|item| item.solid.is_ok()) {
                return body;
            }
            if !body.items.is_empty() && lines.is_none() {
                lines = Some(body);
            }
        }
        for (identifier, representation) in &all {
            let other_view = OTHER_VIEWS.iter().any(|view| view.eq_ignore_ascii_case(identifier));
            if other_view
                || identifiers.iter().any(|wanted| wanted.eq_ignore_ascii_case(identifier))
                || self.is_plan(representation)
            {
                continue;
            }
            let identifier = Cow::Owned(identifier.clone().into_owned());
            let body = self.read_all(identifier, std::iter::once(representation));
            if body.items.iter().any(|item| item.solid.is_ok()) {
                return body;
            }
            if !body.items.is_empty() && lines.is_none() {
                lines = Some(body);
            }
        }
        if let Some(lines) = lines {
            return lines;
        }
        // Nothing but an axis or a foot print: that it has only lines is worth telling.
        let views: Vec<&str> = all.iter().map(|(identifier, _)| &**identifier).collect();
        match all.first() {
            Some((identifier, first)) => {
                let trouble = first.trouble(format_args!(
                    "and no body: the only representations are {}",
                    views.join(", ")
                ));
                let mut body = Body::unreadable(first.row, trouble);
                for item in &mut body.items {
                    item.lines_only = true;
                }
                body.representation = Cow::Owned(identifier.clone().into_owned());
                body
            }
            None => self.missing(model, &product).unwrap_or_default(),
        }
    }

    /// What is said of a product whose shape, or every representation of it, is named and not there.
    fn missing(&self, model: &Model<'_>, whole: &Entity<'m>) -> Option<Body> {
        let place = model.position(whole.row, "Representation")?;
        whole.get(place).reference()?;
        let trouble = match self.part(whole, place, "Representation") {
            Err(trouble) => trouble,
            Ok(definition) => {
                let name = definition.get(2).as_list().references().next()?;
                definition.trouble(format_args!("names #{name}, which is not in the file"))
            }
        };
        Some(Body::unreadable(whole.row, trouble))
    }

    fn read_all<'e>(
        &self,
        identifier: Cow<'static, str>,
        representations: impl Iterator<Item = &'e Entity<'m>>,
    ) -> Body
    where
        'm: 'e,
    {
        let mut body = Body { representation: identifier, ..Body::default() };
        for representation in representations {
            self.each(representation, representation.get(3), |item| {
                self.append_items(&item, &mut body.items);
            });
        }
        body.number();
        body
    }

    /// Whether a representation is drawn in a context of plans.
    fn is_plan(&self, representation: &Entity<'m>) -> bool {
        let Ok(context) = self.part(representation, 0, "context") else { return false };
        let kind = context.get(1).text().unwrap_or_default();
        kind.eq_ignore_ascii_case("Plan") || context.get(2).number() == Some(2.0)
    }

    /// The items that one item of a representation stands for.
    pub(super) fn append_items(&self, entity: &Entity<'m>, items: &mut Vec<Item>) {
        match entity.keyword {
            "IFCMAPPEDITEM" => self.append_mapped(entity, items),
            "IFCGEOMETRICSET" => {
                // Points and lines beside surfaces: only these count.
                let parts = self.parts(entity, 0);
                let bodies: Vec<&Entity<'m>> =
                    parts.iter().filter(|p| !super::solid::is_line_only(p.keyword)).collect();
                if bodies.is_empty() {
                    let trouble = entity.trouble("has only lines");
                    items.push(Item { lines_only: true, ..Item::unreadable(entity.row, trouble) });
                    self.met(entity, false);
                }
                for part in bodies {
                    self.append_items(part, items);
                }
            }
            "IFCSHAPEREPRESENTATION" | "IFCREPRESENTATION" | "IFCTOPOLOGYREPRESENTATION" => {
                for item in self.parts(entity, 3) {
                    self.append_items(&item, items);
                }
            }
            // Colour, not shape.
            "IFCSTYLEDITEM" => {}
            _ => {
                let (solid, subtracted) = match self.made(entity) {
                    Ok(made) => (Ok(made.solid), made.subtracted),
                    Err(trouble) => (Err(trouble), Vec::new()),
                };
                let lines_only = super::solid::is_line_only(entity.keyword);
                items.push(Item { index: 0, row: entity.row, solid, subtracted, lines_only });
            }
        }
    }

    /// Lines of a product's axis, or (not `of_axis`) of the representations that stand for its
    /// body; in its own frame.
    pub(super) fn lines(&self, model: &Model<'_>, product: Row, of_axis: bool) -> Vec<Vec<DVec3>> {
        let is = |views: &[&str], identifier: &str| {
            views.iter().any(|view| view.eq_ignore_ascii_case(identifier))
        };
        self.representations(model, &self.at(product))
            .iter()
            .filter(|(identifier, representation)| {
                if of_axis {
                    is(&["Axis", "Reference"], identifier)
                } else {
                    !is(&OTHER_VIEWS, identifier) && !self.is_plan(representation)
                }
            })
            .map(|(_, representation)| self.lines_in(&self.parts(representation, 3)))
            .find(|lines| !lines.is_empty())
            .unwrap_or_default()
    }

    fn lines_in(&self, parts: &[Entity<'m>]) -> Vec<Vec<DVec3>> {
        parts.iter().flat_map(|part| self.lines_of(part)).collect()
    }

    fn lines_of(&self, item: &Entity<'m>) -> Vec<Vec<DVec3>> {
        match item.keyword {
            "IFCGEOMETRICCURVESET" | "IFCGEOMETRICSET" => self.lines_in(&self.parts(item, 0)),
            "IFCMAPPEDITEM" => {
                let Ok((representation, map)) = self.map_of(item) else { return Vec::new() };
                let lines =
                    self.deeper(item, || Ok(self.lines_in(&self.parts(&representation, 3))));
                let mut lines = lines.unwrap_or_default();
                for point in lines.iter_mut().flatten() {
                    *point = map.transform_point3(*point);
                }
                lines
            }
            keyword if super::solid::is_line_only(keyword) => {
                let points = self.path(item).map(|path| path.points(self.chord));
                points.into_iter().filter(|points| points.len() > 1).collect()
            }
            _ => Vec::new(),
        }
    }
}
