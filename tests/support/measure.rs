//! Pictures as the renderer sees them: boxes of ink, widths, and every number that is drawn.

use longwatch::show::Picture;
use longwatch::show::canvas::Rect;
use longwatch::show::png::tree;
use resvg::usvg::{Group, Node, Tree};

/// The texts of a picture with the boxes of their ink, px.
pub fn texts(picture: &Picture) -> Vec<(String, Rect)> {
    let tree = tree(picture).unwrap_or_else(|e| panic!("{e}"));
    let mut found = Vec::new();
    collect(tree.root(), &mut found);
    found
}

fn collect(group: &Group, found: &mut Vec<(String, Rect)>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => collect(inner, found),
            Node::Text(text) => {
                let words: String = text.chunks().iter().map(|chunk| chunk.text()).collect();
                let ink = text.flattened().abs_bounding_box();
                let area = Rect::new(
                    f64::from(ink.left()),
                    f64::from(ink.top()),
                    f64::from(ink.right()),
                    f64::from(ink.bottom()),
                );
                found.push((words, area));
            }
            _ => {}
        }
    }
}

/// What is wrong with a picture; empty if nothing is.
pub fn faults(picture: &Picture) -> Vec<String> {
    let mut faults = Vec::new();
    let sheet = Rect::new(0.0, 0.0, picture.width_px, picture.height_px);
    let texts = texts(picture);
    if texts.len() < 2 {
        faults.push("hardly any text".to_owned());
    }
    for (k, (words, area)) in texts.iter().enumerate() {
        let inside = area.x0 >= 1.0
            && area.y0 >= 1.0
            && area.x1 <= sheet.x1 - 1.0
            && area.y1 <= sheet.y1 - 1.0;
        if !inside {
            faults.push(format!("`{words}` leaves the sheet: {area:?}"));
        }
        for (other_words, other) in &texts[k + 1..] {
            // A fifth of a pixel of touching ink is not seen.
            if area.grown(-0.1).overlaps(&other.grown(-0.1)) {
                faults.push(format!("`{words}` covers `{other_words}`"));
            }
        }
    }
    faults.extend(numbers_outside(picture));
    faults
}

/// Coordinates that are not finite numbers on the sheet.
fn numbers_outside(picture: &Picture) -> Vec<String> {
    let document = resvg::usvg::roxmltree::Document::parse(&picture.svg).expect("well-formed XML");
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let view: Vec<f64> =
        root.attribute("viewBox").unwrap().split(' ').map(|n| n.parse().unwrap()).collect();
    let mut faults = Vec::new();
    let mut check = |text: &str, most: f64| match text.parse::<f64>() {
        Ok(value) if value.is_finite() && (-1.0..=most + 1.0).contains(&value) => {}
        _ => faults.push(format!("`{text}` is no place on the sheet")),
    };
    for node in document.descendants().filter(|node| node.is_element() && *node != root) {
        for attribute in node.attributes() {
            match attribute.name() {
                "points" => {
                    for pair in attribute.value().split_whitespace() {
                        let (x, y) = pair.split_once(',').unwrap();
                        check(x, view[2]);
                        check(y, view[3]);
                    }
                }
                "x" | "cx" | "width" | "x1" | "x2" => check(attribute.value(), view[2]),
                "y" | "cy" | "height" | "y1" | "y2" => check(attribute.value(), view[3]),
                _ => {}
            }
        }
    }
    faults
}

/// Widths of texts as the renderer lays them out, px.
pub fn laid_out(texts: &[(String, bool)], size_px: f64) -> Vec<f64> {
    let mut svg =
        String::from("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"9000\" height=\"9000\">");
    for (words, bold) in texts {
        let words = words.replace('&', "&amp;").replace('<', "&lt;");
        let weight = if *bold { "bold" } else { "normal" };
        svg += &format!(
            "<text xml:space=\"preserve\" x=\"10\" y=\"100\" font-family=\"DejaVu Sans\" font-size=\"{size_px}\" \
             font-weight=\"{weight}\" style=\"font-kerning:none\">{words}</text>"
        );
    }
    svg += "</svg>";
    let picture = Picture {
        name: "widths",
        title: String::new(),
        description: String::new(),
        width_px: 9000.0,
        height_px: 9000.0,
        svg,
    };
    let tree: Tree = tree(&picture).unwrap();
    let mut widths = Vec::new();
    for node in tree.root().children() {
        if let Node::Text(text) = node {
            widths.push(f64::from(text.bounding_box().width()));
        }
    }
    widths
}
