//! The records of a tower, written as they come.

use super::Written;
use crate::ifc::guid;
use std::io::{self, Write};

/// Instances that everything uses; their names are fixed by the head below.
const HEAD: &str = "\
#1=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
#2=IFCSIUNIT(*,.PLANEANGLEUNIT.,$,.RADIAN.);
#3=IFCUNITASSIGNMENT((#1,#2));
#4=IFCCARTESIANPOINT((0.,0.,0.));
#5=IFCAXIS2PLACEMENT3D(#4,$,$);
#6=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-05,#5,$);
#7=IFCGEOMETRICREPRESENTATIONSUBCONTEXT('Body','Model',*,*,*,*,#6,$,.MODEL_VIEW.,$);
#8=IFCDIRECTION((0.,0.,1.));
#9=IFCDIRECTION((1.,0.,0.));
#10=IFCDIRECTION((0.,1.,0.));
#11=IFCCARTESIANPOINT((0.,0.));
#12=IFCAXIS2PLACEMENT2D(#11,$);
#13=IFCRECTANGLEPROFILEDEF(.AREA.,'47x220',#12,47.,220.);
#14=IFCCIRCLEPROFILEDEF(.AREA.,'15',#12,7.5);
#15=IFCCIRCLEPROFILEDEF(.AREA.,'22',#12,11.);
#16=IFCCIRCLEPROFILEDEF(.AREA.,'28',#12,14.);
#17=IFCMATERIAL('C24 softwood',$,'wood');
#18=IFCLOCALPLACEMENT($,#5);
#19=IFCPROPERTYSINGLEVALUE('LoadBearing',$,IFCBOOLEAN(.T.),$);
";
/// The first name that is free behind it.
const FREE: u64 = 20;

/// A file being written.
pub(super) struct Text<'a, W: Write> {
    out: &'a mut W,
    /// One record, or the few of one element.
    line: Vec<u8>,
    next: u64,
    bytes: u64,
    building: u64,
    storeys: Vec<u64>,
    wall_set: Vec<u64>,
}

/// A storey: itself and its placement, and its elevation.
pub(super) struct Storey {
    id: u64,
    placement: u64,
}

impl<'a, W: Write> Text<'a, W> {
    pub(super) fn begin(out: &'a mut W, name: &str) -> io::Result<Self> {
        let mut text = Self {
            out,
            line: Vec::new(),
            next: FREE,
            bytes: 0,
            building: 0,
            storeys: Vec::new(),
            wall_set: Vec::new(),
        };
        write!(
            text.line,
            "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION(('ViewDefinition [ReferenceView]'),'2;1');\n\
             FILE_NAME('{name}','2025-01-01T00:00:00',(''),(''),'hand-made','hand-made','');\n\
             FILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n{HEAD}"
        )?;
        let project = text.rooted("IFCPROJECT", "project", "'Tower',$,$,$,$,(#6),#3")?;
        let site = text.rooted("IFCSITE", "site", "'Site',$,$,#18,$,$,.ELEMENT.,$,$,$,$,$")?;
        text.building =
            text.rooted("IFCBUILDING", "building", "'Building',$,$,#18,$,$,.ELEMENT.,$,$,$")?;
        let building = text.building;
        text.rooted("IFCRELAGGREGATES", "p", &format!("$,$,#{project},(#{site})"))?;
        text.rooted("IFCRELAGGREGATES", "s", &format!("$,$,#{site},(#{building})"))?;
        text.flush()?;
        Ok(text)
    }

    /// Writes what has gathered.
    fn flush(&mut self) -> io::Result<()> {
        self.out.write_all(&self.line)?;
        self.bytes += self.line.len() as u64;
        self.line.clear();
        Ok(())
    }

    /// One record; its name.
    fn record(&mut self, keyword: &str, values: std::fmt::Arguments<'_>) -> io::Result<u64> {
        let name = self.next;
        self.next += 1;
        writeln!(self.line, "#{name}={keyword}({values});")?;
        Ok(name)
    }

    /// A record with a GlobalId and no owner history; `values` begin with its name.
    fn rooted(&mut self, keyword: &str, key: &str, values: &str) -> io::Result<u64> {
        let id = guid(keyword, key);
        self.record(keyword, format_args!("'{id}',$,{values}"))
    }

    /// The same for what there are many of: its own number is its key.
    fn numbered(&mut self, keyword: &str, values: std::fmt::Arguments<'_>) -> io::Result<u64> {
        let id = short_guid(self.next);
        self.record(keyword, format_args!("'{id}',$,{values}"))
    }

    pub(super) fn storey(&mut self, floor: usize, elevation: f64) -> io::Result<Storey> {
        let point = self.record("IFCCARTESIANPOINT", format_args!("(0.,0.,{elevation:?})"))?;
        let axes = self.record("IFCAXIS2PLACEMENT3D", format_args!("#{point},$,$"))?;
        let placement = self.record("IFCLOCALPLACEMENT", format_args!("#18,#{axes}"))?;
        let id = self.numbered(
            "IFCBUILDINGSTOREY",
            format_args!("'Level {floor}',$,$,#{placement},$,$,.ELEMENT.,{elevation:?}"),
        )?;
        self.storeys.push(id);
        Ok(Storey { id, placement })
    }

    /// A body drawn out from a placement along the placement's z: placement and shape.
    fn body(
        &mut self,
        storey: &Storey,
        [x, y, z]: [f64; 3],
        axes: &str,
        profile: u64,
        depth: f64,
    ) -> io::Result<(u64, u64)> {
        let point = self.record("IFCCARTESIANPOINT", format_args!("({x:?},{y:?},{z:?})"))?;
        let frame = self.record("IFCAXIS2PLACEMENT3D", format_args!("#{point},{axes}"))?;
        let on = storey.placement;
        let placement = self.record("IFCLOCALPLACEMENT", format_args!("#{on},#{frame}"))?;
        let solid =
            self.record("IFCEXTRUDEDAREASOLID", format_args!("#{profile},#5,#8,{depth:?}"))?;
        let shape = self
            .record("IFCSHAPEREPRESENTATION", format_args!("#7,'Body','SweptSolid',(#{solid})"))?;
        let shape = self.record("IFCPRODUCTDEFINITIONSHAPE", format_args!("$,$,(#{shape})"))?;
        Ok((placement, shape))
    }

    /// Two properties of its own in a set of its own, as exporters write them.
    fn properties(&mut self, of: u64, set: &str, first: &str, second: &str) -> io::Result<()> {
        let a = self.record("IFCPROPERTYSINGLEVALUE", format_args!("{first},$"))?;
        let b = self.record("IFCPROPERTYSINGLEVALUE", format_args!("{second},$"))?;
        let set = self.numbered("IFCPROPERTYSET", format_args!("'{set}',$,(#{a},#{b})"))?;
        self.numbered("IFCRELDEFINESBYPROPERTIES", format_args!("$,$,(#{of}),#{set}"))?;
        Ok(())
    }

    /// A joist 47 × 220 along Y from the middle of its end.
    pub(super) fn joist(&mut self, storey: &Storey, at: [f64; 3], length: f64) -> io::Result<u64> {
        let (placement, shape) = self.body(storey, at, "#10,#9", 13, length)?;
        let number = self.next;
        let joist = self.numbered(
            "IFCBEAM",
            format_args!("'J{number}',$,'Joist 47x220',#{placement},#{shape},'J{number}',.JOIST."),
        )?;
        let span = format!("'Span',$,IFCPOSITIVELENGTHMEASURE({length:?})");
        self.properties(joist, "Pset_BeamCommon", "'LoadBearing',$,IFCBOOLEAN(.T.)", &span)?;
        self.flush()?;
        Ok(joist)
    }

    /// A copper pipe along X from the centre of its end.
    pub(super) fn pipe(
        &mut self,
        storey: &Storey,
        at: [f64; 3],
        length: f64,
        diameter: f64,
    ) -> io::Result<u64> {
        let profile = match diameter {
            d if d < 20.0 => 14,
            d if d < 25.0 => 15,
            _ => 16,
        };
        let (placement, shape) = self.body(storey, at, "#9,#10", profile, length)?;
        let number = self.next;
        let pipe = self.numbered(
            "IFCPIPESEGMENT",
            format_args!(
                "'P{number}',$,'Heating flow',#{placement},#{shape},'P{number}',.RIGIDSEGMENT."
            ),
        )?;
        let outer = format!("'OuterDiameter',$,IFCPOSITIVELENGTHMEASURE({diameter:?})");
        let status = "'Reference',$,IFCIDENTIFIER('Copper')";
        self.properties(pipe, "Pset_PipeSegmentTypeCommon", status, &outer)?;
        self.flush()?;
        Ok(pipe)
    }

    /// A wall under the ends of a bay's joists.
    pub(super) fn wall(
        &mut self,
        storey: &Storey,
        y: f64,
        thick: f64,
        long: f64,
    ) -> io::Result<u64> {
        let (x, height) = (long / 2.0, 2400.0);
        let profile =
            self.record("IFCRECTANGLEPROFILEDEF", format_args!(".AREA.,$,#12,{long:?},{thick:?}"))?;
        let at = [x, y + thick / 2.0, -220.0 - height];
        let (placement, shape) = self.body(storey, at, "$,$", profile, height)?;
        let number = self.next;
        let wall = self.numbered(
            "IFCWALL",
            format_args!("'W{number}',$,$,#{placement},#{shape},'W{number}',.SOLIDWALL."),
        )?;
        self.wall_set.push(wall);
        self.flush()?;
        Ok(wall)
    }

    /// A round opening across a joist, a little wider than it.
    pub(super) fn opening(
        &mut self,
        storey: &Storey,
        host: u64,
        [x, y, z]: [f64; 3],
        diameter: f64,
    ) -> io::Result<()> {
        let radius = diameter / 2.0;
        let profile =
            self.record("IFCCIRCLEPROFILEDEF", format_args!(".AREA.,$,#12,{radius:?}"))?;
        let (placement, shape) = self.body(storey, [x - 30.0, y, z], "#9,#10", profile, 60.0)?;
        let number = self.next;
        let opening = self.numbered(
            "IFCOPENINGELEMENT",
            format_args!("'O{number}',$,$,#{placement},#{shape},$,.OPENING."),
        )?;
        self.numbered("IFCRELVOIDSELEMENT", format_args!("$,$,#{host},#{opening}"))?;
        self.flush()
    }

    fn list(ids: &[u64]) -> String {
        let names: Vec<String> = ids.iter().map(|id| format!("#{id}")).collect();
        names.join(",")
    }

    pub(super) fn of_timber(&mut self, members: &[u64]) -> io::Result<()> {
        let members = Self::list(members);
        self.numbered("IFCRELASSOCIATESMATERIAL", format_args!("$,$,({members}),#17"))?;
        self.flush()
    }

    pub(super) fn contained(&mut self, storey: &Storey, elements: &[u64]) -> io::Result<()> {
        let (elements, storey) = (Self::list(elements), storey.id);
        self.numbered(
            "IFCRELCONTAINEDINSPATIALSTRUCTURE",
            format_args!("$,$,({elements}),#{storey}"),
        )?;
        self.flush()
    }

    pub(super) fn end(mut self, written: &mut Written) -> io::Result<()> {
        let (storeys, building) = (Self::list(&self.storeys), self.building);
        if !storeys.is_empty() {
            self.numbered("IFCRELAGGREGATES", format_args!("$,$,#{building},({storeys})"))?;
        }
        if !self.wall_set.is_empty() {
            let walls = Self::list(&self.wall_set);
            let set = self.numbered("IFCPROPERTYSET", format_args!("'Pset_WallCommon',$,(#19)"))?;
            self.numbered("IFCRELDEFINESBYPROPERTIES", format_args!("$,$,({walls}),#{set}"))?;
        }
        self.line.extend_from_slice(b"ENDSEC;\nEND-ISO-10303-21;\n");
        self.flush()?;
        written.instances = self.next - 1;
        written.bytes = self.bytes;
        Ok(())
    }

    /// Any record without a GlobalId (worst cases).
    pub(super) fn plain(
        &mut self,
        keyword: &str,
        values: std::fmt::Arguments<'_>,
    ) -> io::Result<u64> {
        let name = self.record(keyword, values)?;
        if self.line.len() > 1 << 16 {
            self.flush()?;
        }
        Ok(name)
    }

    /// An element with a body of its own item; `values` is what its class adds.
    pub(super) fn product_of(
        &mut self,
        storey: &Storey,
        class: &str,
        kind: &str,
        item: u64,
        values: &str,
    ) -> io::Result<u64> {
        let shape =
            self.record("IFCSHAPEREPRESENTATION", format_args!("#7,'Body','{kind}',(#{item})"))?;
        let shape = self.record("IFCPRODUCTDEFINITIONSHAPE", format_args!("$,$,(#{shape})"))?;
        let (number, on) = (self.next, storey.placement);
        let placement = self.record("IFCLOCALPLACEMENT", format_args!("#{on},#5"))?;
        let product =
            self.numbered(class, format_args!("'P{number}',$,$,#{placement},#{shape},$,{values}"))?;
        self.flush()?;
        Ok(product)
    }
}

/// A GlobalId of a number: quick to make, and unlike any other number's.
fn short_guid(number: u64) -> String {
    const DIGITS: &[u8; 64] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$";
    // Spread over the bits by an odd factor, so that names in a row do not look alike.
    let mixed = u128::from(number).wrapping_mul(0x9E37_79B9_7F4A_7C15_F39C_C060_5CED_C835);
    let digit = |place: u32| char::from(DIGITS[((mixed >> (6 * place)) & 63) as usize]);
    (0..22).rev().map(|place| if place == 21 { '2' } else { digit(place) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn numbers_have_ids_of_their_own() {
        let ids: BTreeSet<String> = (0..10_000).map(short_guid).collect();
        assert_eq!(ids.len(), 10_000);
        assert!(ids.iter().all(|id| id.len() == 22));
    }
}
