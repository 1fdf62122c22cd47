//! Reading one instance after the other, with limits, so that no file can keep it busy for ever.

use super::census::Census;
use super::profile::Area;
use crate::recent::Recent;
use crate::{Class, Schema, Unreadable};
use glam::{DAffine2, DAffine3, DMat2, DMat3, DVec2, DVec3};
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wimble_geom::tolerance;
use wimble_step::{Record, Row, StepFile, Value};

pub(super) type Read<T> = Result<T, Unreadable>;

/// How deep shapes may be nested in each other; chains of booleans are walked, not nested.
const DEEPEST: u32 = 150;
/// Points, faces and other small things that one product's shape may be made of.
const MOST_PARTS: usize = 12_000_000;
/// So many remarks are kept of one product.
const MOST_REMARKS: usize = 64;

/// Something about a shape that was read in spite of a fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// What was wrong and what was done.
    pub text: String,
    /// The instance.
    pub row: Row,
}

/// Reads shapes. Everything it gives is in metres and radians.
pub(super) struct Reader<'m, 'a> {
    pub(super) file: &'m StepFile<'a>,
    pub(super) schema: Schema,
    /// One length unit in metres.
    pub(super) metres: f64,
    /// One angle unit in radians.
    pub(super) radians: f64,
    /// Greatest distance between a curve and its chords, metres.
    pub(super) chord: f64,
    depth: Cell<u32>,
    parts: Cell<usize>,
    pub(super) remarks: RefCell<Vec<Remark>>,
    /// Kinds of shape met, where they are counted.
    pub(super) census: Option<RefCell<Census>>,
    areas: Recent<Rc<[Area]>>,
    directions: Recent<DVec3>,
    frames: Recent<DAffine3>,
}

/// An instance that is being read.
pub(super) struct Entity<'m> {
    pub(super) row: Row,
    pub(super) record: Record<'m>,
    pub(super) keyword: &'m str,
}

impl<'m> Entity<'m> {
    pub(super) fn of(record: Record<'m>) -> Self {
        Self { row: record.row(), keyword: record.keyword(), record }
    }

    pub(super) fn get(&self, place: usize) -> Value<'m> {
        self.record.get(place)
    }

    /// Its class as the schema spells it, with its name: `IfcSphere #12`.
    pub(super) fn label(&self) -> String {
        format!("{} #{}", class_name(self.keyword), self.record.name())
    }

    pub(super) fn trouble(&self, what: impl std::fmt::Display) -> Unreadable {
        Unreadable::new(self.row, format!("{} {what}", self.label()))
    }
}

/// The spelling of the schemas, or the keyword itself if they do not know it.
pub(super) fn class_name(keyword: &str) -> String {
    Class::of_keyword(keyword).map_or_else(|| keyword.to_owned(), |class| class.name().to_owned())
}

impl<'m, 'a> Reader<'m, 'a> {
    pub(super) fn new(file: &'m StepFile<'a>, schema: Schema, metres: f64, radians: f64) -> Self {
        Self {
            file,
            schema,
            metres,
            radians,
            chord: tolerance::CHORD,
            depth: Cell::new(0),
            parts: Cell::new(0),
            remarks: RefCell::default(),
            census: None,
            areas: Recent::default(),
            directions: Recent::default(),
            frames: Recent::default(),
        }
    }

    /// A reader that counts the kinds of shape that it meets.
    pub(super) fn counting(self) -> Self {
        Self { census: Some(RefCell::default()), ..self }
    }

    /// Counts an instance as met, and as read or not.
    pub(super) fn met(&self, entity: &Entity<'_>, read: bool) {
        if let Some(census) = &self.census {
            census.borrow_mut().note(entity.keyword, read);
        }
    }

    /// Ends a product: its remarks are given, the next one has its limits for itself.
    pub(super) fn finish(&self) -> Vec<Remark> {
        self.parts.set(0);
        self.remarks.take()
    }

    /// What was read of an instance lately, else what is read now. What needs a remark is read
    /// again for each product, and so is everything that is counted.
    fn kept<T: Clone>(
        &self,
        recent: &Recent<T>,
        row: Row,
        read: impl FnOnce(&Entity<'m>) -> Read<T>,
    ) -> Read<T> {
        if self.census.is_some() {
            return read(&self.at(row));
        }
        if let Some(known) = recent.get(row) {
            return Ok(known);
        }
        let before = self.remarks.borrow().len();
        let value = read(&self.at(row))?;
        if self.remarks.borrow().len() == before && before < MOST_REMARKS {
            recent.keep(row, value.clone());
        }
        Ok(value)
    }

    pub(super) fn remark(&self, row: Row, text: impl Into<String>) {
        let mut remarks = self.remarks.borrow_mut();
        if remarks.len() < MOST_REMARKS {
            remarks.push(Remark { text: text.into(), row });
        }
    }

    /// Runs a step deeper; refused at the deepest level, which a cycle reaches.
    pub(super) fn deeper<T>(&self, entity: &Entity<'_>, step: impl FnOnce() -> Read<T>) -> Read<T> {
        if self.depth.get() >= DEEPEST {
            return Err(entity.trouble("is nested too deep, or in itself"));
        }
        self.depth.set(self.depth.get() + 1);
        let result = step();
        self.depth.set(self.depth.get() - 1);
        result
    }

    /// Counts small parts; refused when a shape has too many to be one product's.
    pub(super) fn count(&self, entity: &Entity<'_>, parts: usize) -> Read<()> {
        let total = self.parts.get().saturating_add(parts);
        self.parts.set(total);
        if total > MOST_PARTS { Err(entity.trouble("is made of too many parts")) } else { Ok(()) }
    }

    pub(super) fn at(&self, row: Row) -> Entity<'m> {
        Entity::of(self.file.record(row))
    }

    /// The instance that a value refers to.
    pub(super) fn follow(
        &self,
        from: &Entity<'_>,
        value: Value<'_>,
        what: &str,
    ) -> Read<Entity<'m>> {
        self.row_of(from, value, what).map(|row| self.at(row))
    }

    /// The row that a value refers to.
    fn row_of(&self, from: &Entity<'_>, value: Value<'_>, what: &str) -> Read<Row> {
        let Some(name) = value.reference() else {
            return Err(from.trouble(format_args!("has no {what}")));
        };
        self.file.find(name).ok_or_else(|| {
            from.trouble(format_args!("names #{name} as its {what}, which is not in the file"))
        })
    }

    /// The areas of the profile at a place of a record.
    pub(super) fn areas_at(&self, from: &Entity<'m>, place: usize, what: &str) -> Read<Rc<[Area]>> {
        let row = self.row_of(from, from.get(place), what)?;
        self.kept(&self.areas, row, |profile| self.areas(profile).map(Rc::from))
    }

    /// The direction at a place of a record, of unit length.
    pub(super) fn direction_at(&self, from: &Entity<'m>, place: usize, what: &str) -> Read<DVec3> {
        let row = self.row_of(from, from.get(place), what)?;
        self.kept(&self.directions, row, |direction| self.direction(direction))
    }

    /// The instance at a place of a record.
    pub(super) fn part(&self, from: &Entity<'m>, place: usize, what: &str) -> Read<Entity<'m>> {
        self.follow(from, from.get(place), what)
    }

    /// All instances of a list; those that are missing from the file are remarked on.
    pub(super) fn parts(&self, from: &Entity<'m>, place: usize) -> Vec<Entity<'m>> {
        self.all(from, from.get(place))
    }

    pub(super) fn all(&self, from: &Entity<'_>, list: Value<'_>) -> Vec<Entity<'m>> {
        let mut found = Vec::new();
        self.each(from, list, |part| found.push(part));
        found
    }

    /// Goes through the instances of a list; those that are missing from the file are remarked on.
    pub(super) fn each(
        &self,
        from: &Entity<'_>,
        list: Value<'_>,
        mut take: impl FnMut(Entity<'m>),
    ) {
        for name in list.as_list().references() {
            match self.file.find(name) {
                Some(row) => take(self.at(row)),
                None => self.remark(
                    from.row,
                    format!("{} names #{name}, which is not in the file", from.label()),
                ),
            }
        }
    }

    pub(super) fn number(&self, from: &Entity<'_>, place: usize, what: &str) -> Read<f64> {
        match from.get(place).number() {
            Some(number) if number.is_finite() => Ok(number),
            _ => Err(from.trouble(format_args!("has no {what}"))),
        }
    }

    /// A length, metres.
    pub(super) fn length(&self, from: &Entity<'_>, place: usize, what: &str) -> Read<f64> {
        Ok(self.number(from, place, what)? * self.metres)
    }

    /// A length that is more than nothing.
    pub(super) fn size(&self, from: &Entity<'_>, place: usize, what: &str) -> Read<f64> {
        let length = self.length(from, place, what)?;
        if length > 0.0 {
            Ok(length)
        } else {
            Err(from.trouble(format_args!("has a {what} of {length} m")))
        }
    }

    pub(super) fn length_or(&self, from: &Entity<'_>, place: usize, default: f64) -> f64 {
        from.get(place).number().map_or(default, |number| number * self.metres)
    }

    /// An `IfcCartesianPoint`, metres; plane points have z = 0.
    pub(super) fn point(&self, entity: &Entity<'_>) -> Read<DVec3> {
        let mut numbers = match entity.keyword {
            "IFCCARTESIANPOINT" => entity.get(0).as_list().numbers(),
            _ => return Err(entity.trouble("stands where an IfcCartesianPoint is needed")),
        };
        match (numbers.next(), numbers.next(), numbers.next()) {
            (Some(x), Some(y), z) => {
                let point = DVec3::new(x, y, z.unwrap_or(0.0)) * self.metres;
                if point.is_finite() {
                    Ok(point)
                } else {
                    Err(entity.trouble("has no finite coordinates"))
                }
            }
            _ => Err(entity.trouble("has no two or three coordinates")),
        }
    }

    /// The point at a place of a record.
    pub(super) fn point_at(&self, from: &Entity<'m>, place: usize, what: &str) -> Read<DVec3> {
        let row = self.row_of(from, from.get(place), what)?;
        let plain = if self.file.keyword(row) == "IFCCARTESIANPOINT" {
            self.file.triple(row)
        } else {
            None
        };
        match plain.map(|triple| DVec3::from(triple) * self.metres) {
            Some(point) if point.is_finite() => Ok(point),
            _ => self.point(&self.at(row)),
        }
    }

    /// An `IfcDirection` of unit length; plane directions have z = 0.
    pub(super) fn direction(&self, entity: &Entity<'_>) -> Read<DVec3> {
        let mut numbers = match entity.keyword {
            "IFCDIRECTION" => entity.get(0).as_list().numbers(),
            _ => return Err(entity.trouble("stands where an IfcDirection is needed")),
        };
        let direction = match (numbers.next(), numbers.next()) {
            (Some(x), Some(y)) => DVec3::new(x, y, numbers.next().unwrap_or(0.0)),
            _ => return Err(entity.trouble("has no two or three ratios")),
        };
        direction.try_normalize().ok_or_else(|| entity.trouble("has no length"))
    }

    /// A direction where one may be left out; a bad one counts as left out, with a remark.
    pub(super) fn direction_opt(&self, from: &Entity<'m>, place: usize) -> Option<DVec3> {
        from.get(place).reference()?;
        match self.direction_at(from, place, "direction") {
            Ok(direction) => Some(direction),
            Err(trouble) => {
                self.remark(trouble.row, format!("{}; the default is used", trouble.reason));
                None
            }
        }
    }

    /// The frame of an axis placement of any dimension. Z is Axis exactly, X is RefDirection made
    /// square to it, Y = Z × X.
    pub(super) fn frame(&self, entity: &Entity<'m>) -> Read<DAffine3> {
        let origin = self.point_at(entity, 0, "Location")?;
        let (axis, reference) = match entity.keyword {
            "IFCAXIS2PLACEMENT3D" | "IFCAXIS2PLACEMENTLINEAR" => {
                (self.direction_opt(entity, 1), self.direction_opt(entity, 2))
            }
            "IFCAXIS1PLACEMENT" => (self.direction_opt(entity, 1), None),
            "IFCAXIS2PLACEMENT2D" => (None, self.direction_opt(entity, 1)),
            _ => return Err(entity.trouble("stands where a placement is needed")),
        };
        let (matrix3, along) = axes(axis, reference);
        if along {
            self.remark(
                entity.row,
                format!("{} has RefDirection along its Axis; a default is used", entity.label()),
            );
        }
        Ok(DAffine3 { matrix3, translation: origin })
    }

    /// The frame at a place of a record; left out it is the identity.
    pub(super) fn frame_or_none(&self, from: &Entity<'m>, place: usize) -> Read<DAffine3> {
        if from.get(place).reference().is_none() {
            return Ok(DAffine3::IDENTITY);
        }
        let row = self.row_of(from, from.get(place), "Position")?;
        self.kept(&self.frames, row, |position| self.frame(position))
    }

    /// A plane frame; left out it is the identity.
    pub(super) fn frame2_or_none(&self, from: &Entity<'m>, place: usize) -> Read<DAffine2> {
        let frame = self.frame_or_none(from, place)?;
        let x = frame.matrix3.x_axis.truncate();
        Ok(DAffine2 {
            matrix2: DMat2::from_cols(x, x.perp()),
            translation: frame.translation.truncate(),
        })
    }

    /// An `IfcCartesianTransformationOperator2D` or `3D`, uniform or not, as a map.
    pub(super) fn operator(&self, entity: &Entity<'m>) -> Read<DAffine3> {
        let three = match entity.keyword {
            "IFCCARTESIANTRANSFORMATIONOPERATOR3D"
            | "IFCCARTESIANTRANSFORMATIONOPERATOR3DNONUNIFORM" => true,
            "IFCCARTESIANTRANSFORMATIONOPERATOR2D"
            | "IFCCARTESIANTRANSFORMATIONOPERATOR2DNONUNIFORM" => false,
            // Some exporters write a placement where an operator is declared.
            "IFCAXIS2PLACEMENT3D" | "IFCAXIS2PLACEMENT2D" => return self.frame(entity),
            _ => return Err(entity.trouble("stands where a transformation operator is needed")),
        };
        let origin = self.point_at(entity, 2, "LocalOrigin")?;
        let scale = entity.get(3).number().unwrap_or(1.0);
        let (second, third) = if three {
            (entity.get(5).number().unwrap_or(scale), entity.get(6).number().unwrap_or(scale))
        } else {
            (entity.get(4).number().unwrap_or(scale), 1.0)
        };
        let (x, y) = (self.direction_opt(entity, 0), self.direction_opt(entity, 1));
        let z = if three { self.direction_opt(entity, 4) } else { None };
        let axes = if three { base_axes(x, y, z) } else { plane_axes(x, y) };
        let matrix3 =
            DMat3::from_cols(axes.x_axis * scale, axes.y_axis * second, axes.z_axis * third);
        if matrix3.determinant().abs() < 1e-15 {
            return Err(entity.trouble("flattens what it moves"));
        }
        Ok(DAffine3 { matrix3, translation: origin })
    }
}

/// Sine of the angle under which two directions lie along each other.
const ALONG: f64 = 1e-7;

/// The axes of a placement, and whether a RefDirection was given that lies along the Axis.
pub(super) fn axes(axis: Option<DVec3>, reference: Option<DVec3>) -> (DMat3, bool) {
    let z = axis.unwrap_or(DVec3::Z);
    let square = |reference: DVec3| {
        let across = reference - z * reference.dot(z);
        (across.length() > ALONG).then(|| across.normalize())
    };
    let given = reference.map(square);
    let along = given == Some(None);
    // With Axis along X the schemas' rule (IfcFirstProjAxis) takes Y instead.
    let x = given
        .flatten()
        .or_else(|| square(DVec3::X))
        .or_else(|| square(DVec3::Y))
        .unwrap_or(DVec3::X);
    (DMat3::from_cols(x, z.cross(x), z), along)
}

/// The three axes of a 3-D operator (IfcBaseAxis): z first, x made square to it, y to both, with
/// y on the side that Axis2 says, which may mirror.
fn base_axes(x: Option<DVec3>, y: Option<DVec3>, z: Option<DVec3>) -> DMat3 {
    let z = z.unwrap_or_else(|| {
        // Left out, the third axis follows from the first two.
        match (x, y) {
            (Some(x), Some(y)) => x.cross(y).try_normalize().unwrap_or(DVec3::Z),
            _ => DVec3::Z,
        }
    });
    let (axes, _) = axes(Some(z), x);
    let right = axes.y_axis;
    let side = match y {
        Some(y) if y.dot(right) < 0.0 => -right,
        _ => right,
    };
    DMat3::from_cols(axes.x_axis, side, z)
}

/// The two axes of a plane operator, in space.
fn plane_axes(x: Option<DVec3>, y: Option<DVec3>) -> DMat3 {
    let flat = |v: DVec3| v.truncate().try_normalize();
    let x2 = x.and_then(flat).or_else(|| y.and_then(flat).map(|y| -y.perp())).unwrap_or(DVec2::X);
    let right = x2.perp();
    let y2 = match y {
        Some(y) if y.truncate().dot(right) < 0.0 => -right,
        _ => right,
    };
    DMat3::from_cols(x2.extend(0.0), y2.extend(0.0), DVec3::Z)
}
