//! Tables: how far from a support a hole of a size has to be, product by product.

use super::PackText;
use crate::expression::parse_length;
use std::ops::Range;

/// How far two readings of a depth may differ and still be one product's.
const SAME_DEPTH_MM: f64 = 2.0;

/// A table of size against distance.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Table {
    pub(crate) key: String,
    /// Whether the distance is measured to the centre of the cut (else to its nearer edge).
    pub(crate) to_centre: bool,
    pub(crate) shrinks_with_span: bool,
    pub(crate) rows: Vec<Row>,
}

/// A row: for this product and depth, a cut of this size stands at least so far from a support.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    /// Lower case; empty for any product.
    pub(crate) product: String,
    pub(crate) depth_mm: f64,
    /// Which supports it speaks of.
    pub(crate) support: Support,
    pub(crate) size_mm: f64,
    pub(crate) distance_mm: Option<f64>,
    pub(crate) span_limit_mm: Option<f64>,
}

/// Which supports a row speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Support {
    Any,
    End,
    Intermediate,
}

/// What a table answers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Lookup {
    /// The member's product is not in it.
    NoProduct,
    /// No row is as large.
    TooLarge { largest_mm: f64 },
    /// The span is beyond what the table is for.
    SpanTooLong { limit_mm: f64 },
    /// The figure.
    Mm(f64),
}

impl Table {
    /// Reads the rows: a header, then `product,depth,support,size,distance,span-limit`.
    pub(crate) fn rows(
        text: PackText<'_>,
        at: Range<usize>,
        csv: &str,
    ) -> Result<Vec<Row>, super::PackError> {
        let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(csv.as_bytes());
        let wrong = |line: u64, message: String| {
            text.wrong(at.clone(), format!("table, line {line}: {message}"))
        };
        let header = reader.headers().map_err(|e| wrong(1, e.to_string()))?.clone();
        let column = |name: &str| header.iter().position(|h| h == name);
        const KNOWN: [&str; 6] = ["product", "depth", "support", "size", "distance", "span-limit"];
        if let Some(odd) = header.iter().find(|h| !KNOWN.contains(h)) {
            return Err(wrong(
                1,
                format!("`{odd}` is no column; columns are {}", KNOWN.join(", ")),
            ));
        }
        let (Some(depth), Some(size)) = (column("depth"), column("size")) else {
            return Err(wrong(1, "the columns `depth` and `size` are needed".to_owned()));
        };
        let mut rows: Vec<Row> = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|e| wrong(0, e.to_string()))?;
            let line = record.position().map_or(0, csv::Position::line);
            let cell = |at: Option<usize>| at.and_then(|at| record.get(at)).unwrap_or_default();
            let length = |at: Option<usize>, name: &str| -> Result<Option<f64>, super::PackError> {
                let written = cell(at);
                if written.is_empty() {
                    return Ok(None);
                }
                constant(written)
                    .map(Some)
                    .map_err(|why| wrong(line, format!("{name} `{written}`: {why}")))
            };
            let needed = |at, name| {
                length(at, name)?.ok_or_else(|| wrong(line, format!("{name} is missing")))
            };
            rows.push(Row {
                product: cell(column("product")).to_lowercase(),
                depth_mm: needed(Some(depth), "depth")?,
                support: match cell(column("support")) {
                    "" | "any" => Support::Any,
                    "end" => Support::End,
                    "intermediate" => Support::Intermediate,
                    odd => {
                        return Err(wrong(
                            line,
                            format!("support `{odd}` is not any, end or intermediate"),
                        ));
                    }
                },
                size_mm: needed(Some(size), "size")?,
                distance_mm: length(column("distance"), "distance")?,
                span_limit_mm: length(column("span-limit"), "span-limit")?,
            });
        }
        if rows.is_empty() {
            return Err(wrong(1, "there are no rows".to_owned()));
        }
        rows.sort_by(|a, b| {
            (&a.product, a.support)
                .cmp(&(&b.product, b.support))
                .then(a.depth_mm.total_cmp(&b.depth_mm))
                .then(a.size_mm.total_cmp(&b.size_mm))
        });
        for pair in rows.windows(2) {
            let [a, b] = pair else { continue };
            let same = a.product == b.product
                && a.support == b.support
                && (a.depth_mm - b.depth_mm).abs() < 0.05;
            if same && a.distance_mm > b.distance_mm {
                return Err(wrong(
                    0,
                    format!(
                        "{} {:.0} deep: a cut of {:.1} mm may stand nearer to the support than a smaller one of {:.1} mm; \
                         a table's distance never falls as the size grows",
                        a.product, a.depth_mm, b.size_mm, a.size_mm
                    ),
                ));
            }
        }
        Ok(rows)
    }

    /// The rows of a member: of its product, its depth and its kind of support.
    fn of<'t>(
        &'t self,
        product: &str,
        depth_mm: f64,
        inner: bool,
    ) -> impl Iterator<Item = &'t Row> {
        let product = product.to_lowercase();
        self.rows.iter().filter(move |row| {
            named(&product, &row.product)
                && (row.depth_mm - depth_mm).abs() <= SAME_DEPTH_MM
                && match row.support {
                    Support::Any => true,
                    Support::End => !inner,
                    Support::Intermediate => inner,
                }
        })
    }

    /// The sizes that it has for a member.
    pub(crate) fn sizes(&self, product: &str, depth_mm: f64) -> Vec<f64> {
        let sizes = |inner| self.of(product, depth_mm, inner).map(|row| row.size_mm);
        sizes(false).chain(sizes(true)).collect()
    }

    /// How far from the support a cut of this size has to be, by the next harder row.
    pub(crate) fn distance(
        &self,
        product: &str,
        depth_mm: f64,
        inner: bool,
        size_mm: f64,
        span_mm: f64,
    ) -> Lookup {
        let mut largest_mm: Option<f64> = None;
        let mut found: Option<&Row> = None;
        for row in self.of(product, depth_mm, inner) {
            largest_mm = Some(largest_mm.map_or(row.size_mm, |l| l.max(row.size_mm)));
            let enough = row.size_mm + crate::HOLDS_MM >= size_mm;
            if enough && found.is_none_or(|best| row.size_mm < best.size_mm) {
                found = Some(row);
            }
        }
        let Some(largest_mm) = largest_mm else { return Lookup::NoProduct };
        let Some(row) = found else { return Lookup::TooLarge { largest_mm } };
        let Some(distance) = row.distance_mm else { return Lookup::TooLarge { largest_mm } };
        match row.span_limit_mm {
            Some(limit_mm) if span_mm > limit_mm + crate::HOLDS_MM => {
                Lookup::SpanTooLong { limit_mm }
            }
            Some(limit_mm) if self.shrinks_with_span => Lookup::Mm(distance * span_mm / limit_mm),
            _ => Lookup::Mm(distance),
        }
    }

    /// The greatest size at all for a member, by the next shallower row.
    pub(crate) fn greatest(&self, product: &str, depth_mm: f64) -> Lookup {
        let product = product.to_lowercase();
        let rows = || {
            self.rows.iter().filter(|row| {
                named(&product, &row.product) && row.depth_mm <= depth_mm + crate::HOLDS_MM
            })
        };
        let Some(depth) = rows().map(|row| row.depth_mm).reduce(f64::max) else {
            return Lookup::NoProduct;
        };
        rows()
            .filter(|row| (row.depth_mm - depth).abs() < 0.05)
            .map(|row| row.size_mm)
            .reduce(f64::max)
            .map_or(Lookup::NoProduct, Lookup::Mm)
    }
}

/// Whether a member's material or name speaks of a product: its words in their order.
fn named(member: &str, product: &str) -> bool {
    let split = |text: &str| -> Vec<String> {
        text.split(|c: char| !c.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .map(str::to_owned)
            .collect()
    };
    let (member, product) = (split(member), split(product));
    product.is_empty() || member.windows(product.len()).any(|part| part == product.as_slice())
}

/// A length without names; a table gives units.
fn constant(text: &str) -> Result<f64, String> {
    if text.trim().parse::<f64>().is_ok() {
        return Err("is a plain number: give its unit (mm, in)".to_owned());
    }
    parse_length(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(csv: &str) -> Result<Table, super::super::PackError> {
        let text = PackText { name: "t.toml", text: "" };
        Ok(Table {
            key: "t".to_owned(),
            to_centre: true,
            shrinks_with_span: true,
            rows: Table::rows(text, 0..0, csv)?,
        })
    }

    // Published I-joist hole table, 11-7/8 in PJI 40: 6 in hole 3-9, span limit 16-7
    // (PJI technical specification p.18, as read in the North American dossier 11.6).
    const PJI: &str = "product,depth,support,size,distance,span-limit\n\
        PJI 40,11-7/8 in,any,5 in,2 ft + 5 in,16 ft + 7 in\n\
        PJI 40,11-7/8 in,any,6 in,3 ft + 9 in,16 ft + 7 in\n";

    #[test]
    fn a_size_between_rows_takes_the_next_harder_row() {
        let table = table(PJI).unwrap();
        let at = |size: f64| {
            table.distance("Joist PJI-40", 301.6, false, size * 25.4, 16.583333333333332 * 304.8)
        };
        assert_eq!(at(5.5), at(6.0));
        assert!(matches!(at(6.0), Lookup::Mm(mm) if (mm - 3.75 * 304.8).abs() < 1e-6));
        assert!(matches!(at(6.5), Lookup::TooLarge { .. }));
    }

    #[test]
    fn a_shorter_span_brings_the_hole_nearer() {
        let table = table(PJI).unwrap();
        let Lookup::Mm(mm) = table.distance("pji 40", 301.6, false, 152.4, 12.0 * 304.8) else {
            panic!("found");
        };
        assert!((mm / 304.8 - 2.71).abs() < 0.005, "{mm}");
        assert!(matches!(
            table.distance("pji 40", 301.6, false, 152.4, 17.0 * 304.8),
            Lookup::SpanTooLong { .. }
        ));
        assert_eq!(table.distance("pji 400", 301.6, false, 152.4, 3000.0), Lookup::NoProduct);
    }

    #[test]
    fn a_table_whose_distance_falls_is_refused() {
        let falls = "depth,size,distance\n240 mm,50 mm,600 mm\n240 mm,60 mm,500 mm\n";
        assert!(table(falls).unwrap_err().message.contains("never falls"));
        assert!(table("depth,sizes\n").unwrap_err().message.contains("`sizes` is no column"));
        assert!(table("depth,size\n240,50 mm\n").unwrap_err().message.contains("plain number"));
    }
}
