//! Pictures as dots, with the font that is shipped.

use resvg::{tiny_skia, usvg};
use std::sync::{Arc, OnceLock};

/// Open Sans, Apache License 2.0 (`fonts/README.md`).
const FONTS: [&[u8]; 2] = [
    include_bytes!("../../fonts/OpenSans-Regular.ttf"),
    include_bytes!("../../fonts/OpenSans-Semibold.ttf"),
];

/// Why no picture was made.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// The SVG could not be read.
    #[error("the drawing could not be read as SVG: {0}")]
    Svg(#[from] usvg::Error),
    /// The picture would have no dots, or more than can be held.
    #[error("a picture of {width} × {height} dots cannot be made")]
    Size {
        /// Dots across.
        width: u32,
        /// Dots down.
        height: u32,
    },
    /// The dots could not be written as PNG.
    #[error("the picture could not be written as PNG: {0}")]
    Png(String),
}

/// Draws an SVG text as PNG, `scale` dots a unit.
///
/// # Errors
/// If the text is no SVG or the picture is too large to hold.
pub fn png(svg: &str, scale: f32) -> Result<Vec<u8>, PictureError> {
    let options = usvg::Options {
        font_family: "Open Sans".to_owned(),
        fontdb: fonts(),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(svg, &options)?;
    let size = tree.size().to_int_size().scale_by(scale);
    let size = size.ok_or(PictureError::Size { width: 0, height: 0 })?;
    let (width, height) = (size.width(), size.height());
    let mut dots =
        tiny_skia::Pixmap::new(width, height).ok_or(PictureError::Size { width, height })?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut dots.as_mut());
    dots.encode_png().map_err(|e| PictureError::Png(e.to_string()))
}

/// Only the shipped fonts: a picture is the same on every machine.
fn fonts() -> Arc<usvg::fontdb::Database> {
    static DATABASE: OnceLock<Arc<usvg::fontdb::Database>> = OnceLock::new();
    Arc::clone(DATABASE.get_or_init(|| {
        let mut database = usvg::fontdb::Database::new();
        for font in FONTS {
            database.load_font_data(font.to_vec());
        }
        database.set_sans_serif_family("Open Sans");
        Arc::new(database)
    }))
}
