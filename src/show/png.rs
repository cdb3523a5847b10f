//! Pictures as PNG: the drawn SVG rendered twice as large with DejaVu fonts that are part of the
//! program.

use std::sync::{Arc, OnceLock};

use rayon::prelude::*;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};

use super::canvas::Picture;

/// Pixels of the PNG per pixel of the picture.
pub const SCALE: f32 = 2.0;

/// Why a picture could not be rendered.
#[derive(Debug, thiserror::Error)]
pub enum PngError {
    /// The drawing is not SVG that the renderer reads.
    #[error("the picture `{0}` cannot be read as SVG: {1}")]
    Svg(&'static str, String),
    /// The sheet has no area or is too large.
    #[error("the picture `{0}` has no size that can be rendered")]
    Size(&'static str),
    /// The pixels could not be written as PNG.
    #[error("the picture `{0}` cannot be written as PNG: {1}")]
    Encode(&'static str, String),
}

/// The fonts, parsed once.
fn fonts() -> Arc<fontdb::Database> {
    static FONTS: OnceLock<Arc<fontdb::Database>> = OnceLock::new();
    Arc::clone(FONTS.get_or_init(|| {
        let mut fonts = fontdb::Database::new();
        for bytes in [dejavu::sans::regular(), dejavu::sans::bold()] {
            fonts.load_font_source(fontdb::Source::Binary(Arc::new(bytes)));
        }
        fonts.set_sans_serif_family("DejaVu Sans");
        Arc::new(fonts)
    }))
}

/// Reads a picture as the renderer sees it: every text with its measured box.
///
/// # Errors
/// When the SVG is not well formed.
pub fn tree(picture: &Picture) -> Result<Tree, PngError> {
    let options =
        Options { fontdb: fonts(), font_family: "DejaVu Sans".to_owned(), ..Options::default() };
    Tree::from_str(&picture.svg, &options).map_err(|e| PngError::Svg(picture.name, e.to_string()))
}

/// Renders pictures, on all cores, in their order.
///
/// # Errors
/// The first picture that cannot be rendered.
pub fn with_png(pictures: Vec<Picture>) -> Result<Vec<(Picture, Vec<u8>)>, PngError> {
    let rendered: Vec<Result<Vec<u8>, PngError>> = pictures.par_iter().map(png).collect();
    pictures.into_iter().zip(rendered).map(|(picture, bytes)| Ok((picture, bytes?))).collect()
}

/// Renders a picture.
///
/// # Errors
/// When the SVG cannot be read, has no size, or the PNG cannot be written.
pub fn png(picture: &Picture) -> Result<Vec<u8>, PngError> {
    let tree = tree(picture)?;
    let size = tree.size().to_int_size().scale_by(SCALE).ok_or(PngError::Size(picture.name))?;
    let mut pixels =
        Pixmap::new(size.width(), size.height()).ok_or(PngError::Size(picture.name))?;
    resvg::render(&tree, Transform::from_scale(SCALE, SCALE), &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| PngError::Encode(picture.name, e.to_string()))
}
