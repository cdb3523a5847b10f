//! On the screen: no error, no request, no sideways scroll, legible in the dark, hostile text is text.

use serde_json::{Value, json};

use super::devtools::{Browser, hall, report};

#[test]
#[ignore = "needs Chromium"]
fn no_error_and_no_request_but_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let path = report(&hall(), folder.path());
    let mut browser = Browser::start();
    browser.open(&path);
    browser.look(1280, true);
    browser.value("document.querySelectorAll('details').forEach(it => it.open = true)");
    let errors =
        browser.told(&["Log.entryAdded", "Runtime.exceptionThrown", "Runtime.consoleAPICalled"]);
    assert!(errors.is_empty(), "{errors:?}");
    let asked: Vec<&str> = browser
        .told(&["Network.requestWillBeSent"])
        .iter()
        .filter_map(|it| it["params"]["request"]["url"].as_str())
        .filter(|url| *url != "data:,")
        .collect();
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(asked[0].ends_with("/report.html"), "{asked:?}");
}

#[test]
#[ignore = "needs Chromium"]
fn no_sideways_scroll_on_a_phone_nor_on_a_desk() {
    let folder = tempfile::tempdir().unwrap();
    let mut long = hall();
    long["title"] = json!("Averyveryverylongnamewithoutanyspaceinit".repeat(6));
    for (scenario, name) in [(hall(), "hall"), (long, "long")] {
        let path = report(&scenario, folder.path());
        let mut browser = Browser::start();
        browser.open(&path);
        for width in [320, 360, 768, 1280] {
            browser.look(width, false);
            browser.value("document.querySelectorAll('details').forEach(it => it.open = true)");
            let wide = browser.value("document.documentElement.scrollWidth");
            assert!(wide.as_u64().unwrap() <= u64::from(width), "{name}: {wide} px at {width} px");
        }
    }
}

/// Every text that is seen, in the page and in its pictures, against the ground that it stands on:
/// at least 4.5 to 1 (WCAG 2.1, 1.4.3), 3 to 1 where it is large, by day and by night.
const CONTRASTS: &str = "(() => {
  const rgb = text => (text.match(/[\\d.]+/g) || []).map(Number);
  const light = c => { const [r, g, b] = c.map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const ground = node => { for (let at = node; at; at = at.parentElement) {
      const c = rgb(getComputedStyle(at).backgroundColor);
      if (c.length === 3 || c[3] > 0) return c.slice(0, 3); } return [255, 255, 255]; };
  const found = [];
  for (const node of document.querySelectorAll('body *')) {
    const own = [...node.childNodes].some(it => it.nodeType === 3 && it.textContent.trim());
    if (!own || !node.getClientRects().length) continue;
    const svg = node.closest('svg');
    if (svg && node.tagName !== 'text') continue;
    const style = getComputedStyle(node);
    const ink = rgb(svg ? style.fill : style.color).slice(0, 3);
    const paper = svg ? rgb(getComputedStyle(svg.querySelector('rect')).fill).slice(0, 3) : ground(node);
    const [a, b] = [light(ink), light(paper)];
    const size = parseFloat(style.fontSize);
    const large = !svg && (size >= 24 || (size >= 18.66 && +style.fontWeight >= 700));
    found.push([(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), large ? 3 : 4.5, node.textContent.slice(0, 60)]);
  }
  return found;
})()";

#[test]
#[ignore = "needs Chromium"]
fn every_text_stands_out_by_day_and_by_night() {
    let folder = tempfile::tempdir().unwrap();
    let path = report(&hall(), folder.path());
    let mut browser = Browser::start();
    browser.open(&path);
    let mut papers = Vec::new();
    for dark in [false, true] {
        browser.look(1280, dark);
        let found = browser.value(CONTRASTS);
        let found = found.as_array().unwrap();
        assert!(found.len() > 400, "only {} texts", found.len());
        let poor: Vec<&Value> = found.iter().filter(|it| it[0].as_f64() < it[1].as_f64()).collect();
        assert!(poor.is_empty(), "dark {dark}: {poor:?}");
        papers.push(browser.value("getComputedStyle(document.body).backgroundColor"));
    }
    assert_ne!(papers[0], papers[1], "the dark page is the light one");
}

#[test]
#[ignore = "needs Chromium"]
fn a_hostile_title_is_text_to_the_browser() {
    let folder = tempfile::tempdir().unwrap();
    let hostile =
        "<script>window.hurt=1</script><img src=x onerror='window.hurt=1'>\"]]></title><b>";
    let mut scenario = hall();
    scenario["title"] = json!(hostile);
    scenario["notes"] = json!(hostile);
    let path = report(&scenario, folder.path());
    let mut browser = Browser::start();
    browser.open(&path);
    assert_eq!(browser.value("document.querySelector('h1').textContent"), json!(hostile));
    assert_eq!(browser.value("document.title"), json!(format!("{hostile}: report")));
    assert_eq!(browser.value("typeof window.hurt"), json!("undefined"));
    assert_eq!(browser.value("document.querySelectorAll('script, img, b').length"), json!(0));
    let errors = browser.told(&["Log.entryAdded", "Runtime.exceptionThrown"]);
    assert!(errors.is_empty(), "{errors:?}");
}

/// What can be scrolled and followed can be reached by keys, and the focus is seen.
#[test]
#[ignore = "needs Chromium"]
fn the_way_past_the_navigation_comes_first_and_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let path = report(&hall(), folder.path());
    let mut browser = Browser::start();
    browser.open(&path);
    browser.look(1280, false);
    for kind in ["rawKeyDown", "keyUp"] {
        browser.ask(
            "Input.dispatchKeyEvent",
            json!({"type": kind, "key": "Tab", "code": "Tab", "windowsVirtualKeyCode": 9}),
        );
    }
    assert_eq!(browser.value("document.activeElement.className"), json!("skip"));
    let left = browser.value("document.activeElement.getBoundingClientRect().left");
    assert!(left.as_f64().unwrap() >= 0.0, "{left}");
    let outline = browser.value("getComputedStyle(document.activeElement).outlineStyle");
    assert_eq!(outline, json!("solid"));
}
