//! The sheets as a table: a row for each cut to make and for each member not to cut.

use super::sheets::{self, Storey};
use crate::{Report, say};
use std::io::{self, Write};

const COLUMNS: [&str; 18] = [
    "storey",
    "order",
    "mark",
    "say",
    "cut",
    "what",
    "datum",
    "from_datum_mm",
    "check",
    "from_check_mm",
    "from_top_mm",
    "from_bottom_mm",
    "bit_mm",
    "service",
    "spare_mm",
    "stop_lines_mm",
    "fit_besides",
    "fall",
];

/// Writes the table: UTF-8 with a byte order mark, so that spreadsheets read names as they are.
///
/// # Errors
/// Those of the writer.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    out.write_all("\u{feff}".as_bytes())?;
    let mut table = csv::Writer::from_writer(out);
    table.write_record(COLUMNS).map_err(crate::csv::plain_error)?;
    let storeys = report.marking.as_ref().map(|m| sheets::of(report, m)).unwrap_or_default();
    let mut order = 0_usize;
    for storey in &storeys {
        for row in rows(storey, &mut order) {
            table
                .write_record(row.iter().map(|cell| crate::csv::harmless(cell)))
                .map_err(crate::csv::plain_error)?;
        }
    }
    table.flush()
}

fn rows(storey: &Storey, order: &mut usize) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for joist in &storey.joists {
        *order += 1;
        let asks = storey.assumed.iter().find(|ask| ask.mark == joist.mark);
        let says =
            asks.map_or("CUT".into(), |ask| format!("ASK {} FIRST: {}", ask.number, ask.why));
        for row in &joist.rows {
            rows.push(vec![
                storey.name.clone(),
                order.to_string(),
                joist.mark.clone(),
                says.clone(),
                row.number.to_string(),
                row.what.clone(),
                joist.datum.clone(),
                row.from_datum.clone(),
                joist.check.clone(),
                row.from_check.clone(),
                row.top.clone(),
                row.bottom.clone(),
                row.bit.clone(),
                row.service.clone(),
                row.spare.clone(),
                row.stops.clone(),
                row.besides.clone(),
                row.fall.clone(),
            ]);
        }
    }
    for ask in &storey.refused {
        let mut row = vec![String::new(); COLUMNS.len()];
        let says = say::sentence(&format!("DO NOT CUT, ask reference {}: {}", ask.number, ask.why));
        for (at, text) in [(0, storey.name.clone()), (2, ask.mark.clone()), (3, says)] {
            if let Some(cell) = row.get_mut(at) {
                *cell = text;
            }
        }
        rows.push(row);
    }
    rows
}
