//! The sheet that goes along with a station, as a page to print and as text.
//!
//! The page holds everything in itself and prints on A4 and Letter; names are escaped. Columns without a
//! number are for the pen.

use std::fmt::Write as _;

use super::super::odds::sentence::whole;
use super::super::text::{clean, lines};
use super::super::words::{full, hours, number, percent, trimmed, volts};
use crate::decide::exercise::{Exercise, Sheet, SheetRow};
use crate::scenario::club::Handover;
use crate::show::cautions::words;

/// A word for a file: letters, digits and hyphens of a name.
#[must_use]
pub fn file_name(station: &str) -> String {
    let kept: String =
        station.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    let words: Vec<&str> = kept.split('-').filter(|it| !it.is_empty()).collect();
    if words.is_empty() { "station".to_owned() } else { words.join("-") }
}

/// The lines of the plan: a head and what stands under it.
fn plan(exercise: &Exercise, sheet: &Sheet) -> Vec<(&'static str, String)> {
    let mut lines = Vec::new();
    let watches: Vec<String> =
        sheet.watches.iter().map(|(from, to)| format!("{from} to {to}")).collect();
    let off = match &sheet.off_watch {
        _ if sheet.always_on_watch => String::new(),
        None => "; off watch everything is off".to_owned(),
        Some(tier) => format!("; off watch: {}", clean(tier)),
    };
    let watch = if sheet.always_on_watch {
        "all the time".to_owned()
    } else if watches.is_empty() {
        format!("never{off}")
    } else {
        format!("{}{off}", watches.join(", "))
    };
    lines.push(("Watch", watch));
    if let Some(owner) = &sheet.owner {
        lines.push(("Brought by", clean(owner)));
    }
    let tiers: Vec<String> = sheet
        .tiers
        .iter()
        .map(|tier| {
            let loads: Vec<String> = tier.loads.iter().map(|it| clean(it)).collect();
            let below = tier.down_below_share.map_or(String::new(), |share| {
                format!("; next tier below {} ({} Ah)", percent(share), left(share, sheet))
            });
            format!("{}: {}{below}", clean(&tier.name), loads.join(", "))
        })
        .collect();
    lines.push(("What is on", tiers.join(". ")));
    if let Some(pack) = &sheet.pack {
        lines.push(("Begins with", format!("pack {}", clean(pack))));
    }
    if let Some(swap) = &sheet.swap {
        let handover = match swap.handover {
            Handover::Bridged => "bridged: nothing goes off".to_owned(),
            Handover::OffMin(min) => {
                format!("{} min without power: say so on the air first", trimmed(min, 1))
            }
        };
        let carried = if swap.carry_min > 0.0 {
            format!(", {} min on the way", trimmed(swap.carry_min, 0))
        } else {
            String::new()
        };
        lines.push((
            "Swap the pack",
            format!(
                "on the hour below {} ({} Ah left), for one of at least {}{carried}; {handover}. Never two packs side by side.",
                percent(swap.below_share),
                left(swap.below_share, sheet),
                percent(swap.spare_above_share)
            ),
        ));
    }
    if let Some(it) = &sheet.disconnect {
        lines.push((
            "Disconnect",
            format!("opens at {}, closes at {}", volts(it.disconnect_v), volts(it.reconnect_v)),
        ));
    }
    let (stayed, trials) = sheet.ready;
    lines.push((
        "Expected",
        format!(
            "on the air for all {} in {} of {} trials; {}",
            hours(exercise.hours),
            whole(stayed),
            whole(trials),
            when_lower(sheet)
        ),
    ));
    lines
}

/// What to do when the meter shows less than the band.
fn when_lower(sheet: &Sheet) -> String {
    let sheds = sheet.tiers.len() > 1;
    let early = match (sheet.swap.is_some(), sheds) {
        (true, true) => "swap or shed early, and tell net control",
        (true, false) => "swap early, and tell net control",
        (false, true) => "shed early, and tell net control",
        (false, false) => "transmit less, and tell net control",
    };
    if sheet.attended {
        format!("lower than the band: {early}")
    } else {
        "nobody is there: whoever comes by and reads less than the band tells net control, and looks \
         at panels and leads"
            .to_owned()
    }
}

fn left(share: f64, sheet: &Sheet) -> String {
    number(share * sheet.capacity_ah, 0)
}

/// What has to be said about reading the meter.
fn how_to_read(sheet: &Sheet) -> String {
    let volts = if sheet.volts_say_little {
        "Between a fifth and nine tenths of the charge the volts of lithium iron phosphate hardly change: the ampere-hours count, the volts only show that something is wrong."
    } else {
        "Volts of lead-acid cells need some minutes of rest to say much."
    };
    format!(
        "Ah: what is left; full is {}. Volts: while receiving, panels and chargers off for a minute. The band holds nine of ten trials; `-`: all show the same. A full battery shows more for some minutes after it leaves the charger. {volts}",
        full(sheet.capacity_ah, &sheet.holds)
    )
}

/// The cautions of the station.
fn caution_words(sheet: &Sheet) -> String {
    let lines: Vec<&str> = sheet.cautions.iter().map(|it| words(*it).line).collect();
    lines.join(" ")
}

/// The band of a row: `28 (24 to 31)`; without width none.
fn band(values: [f64; 3], places: usize) -> (String, String) {
    let [low, middle, high] = values.map(|it| number(it, places));
    let width = if low == high { "-".to_owned() } else { format!("{low} to {high}") };
    (middle, width)
}

fn ah(row: &SheetRow) -> (String, String) {
    band([row.left_p05_ah, row.left_p50_ah, row.left_p95_ah], 0)
}

fn receiving(row: &SheetRow) -> (String, String) {
    band([row.receiving_p05_v, row.receiving_p50_v, row.receiving_p95_v], 2)
}

/// The sheet as text of at most 80 columns.
#[must_use]
pub fn text((exercise, sheet): (&Exercise, &Sheet)) -> String {
    let mut out = String::new();
    let title = format!("{}: {}", clean(&sheet.station), clean(&sheet.title));
    for line in lines(&title, 80, (0, 0)) {
        let _ = writeln!(out, "{line}");
    }
    for line in sheet.invented.iter().flat_map(|it| lines(&clean(it), 80, (0, 0))) {
        let _ = writeln!(out, "{line}");
    }
    let _ = writeln!(out);
    for (head, words) in plan(exercise, sheet) {
        for (at, line) in lines(&words, 64, (0, 0)).iter().enumerate() {
            let head = if at == 0 { head } else { "" };
            let _ = writeln!(out, "{head:<15} {line}");
        }
    }
    if let Some(notes) = &sheet.notes {
        for (at, line) in lines(&clean(notes), 64, (0, 0)).iter().enumerate() {
            let head = if at == 0 { "Notes" } else { "" };
            let _ = writeln!(out, "{head:<15} {line}");
        }
    }
    let _ = writeln!(out);
    let _ = writeln!(
        out,
        "Time       Watch  Ah   band        Volts  band             Read V  Read Ah By"
    );
    let mut day = String::new();
    for row in &sheet.rows {
        let this = row.at.format("%a").to_string();
        let shown = if this == day { "   ".to_owned() } else { this.clone() };
        day = this;
        let watch = if row.on_watch { "on" } else { "-" };
        let ((left, left_band), (v, v_band)) = (ah(row), receiving(row));
        let _ = writeln!(
            out,
            "{shown} {:<6} {watch:<6} {left:>3}  {left_band:<10}  {v:>5}  {v_band:<15}  ______  ______  ____",
            row.at.format("%H:%M")
        );
    }
    for words in [how_to_read(sheet), caution_words(sheet)] {
        let _ = writeln!(out);
        for line in lines(&words, 80, (0, 0)) {
            let _ = writeln!(out, "{line}");
        }
    }
    out
}

/// What a page must not take as its own.
fn escaped(words: &str) -> String {
    clean(words)
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

const STYLE: &str = "\
@page{margin:12mm 13mm}\
*{box-sizing:border-box}\
body{font:10pt/1.32 'DejaVu Sans',Verdana,sans-serif;color:#1c252e;background:#fff;max-width:184mm;margin:0 auto;padding:4mm}\
h1{font-size:15pt;margin:0 0 .5mm}\
p{margin:1mm 0}\
.of{color:#55606b;margin:0 0 2.5mm}\
dl{display:grid;grid-template-columns:29mm 1fr;gap:.6mm 2mm;margin:0 0 3mm;font-size:9pt}\
dt{font-weight:bold}dd{margin:0}\
table{border-collapse:separate;border-spacing:0;width:100%;font-variant-numeric:tabular-nums}\
caption{text-align:left;font-size:8.5pt;color:#55606b;padding-bottom:1mm}\
thead{display:table-header-group}\
tr{break-inside:avoid}\
th{font-size:8.5pt;text-align:right;vertical-align:bottom;border-bottom:1.2pt solid #1c252e;padding:0 1.6mm .6mm}\
td{height:5.6mm;text-align:right;border-bottom:.4pt solid #9aa3ac;padding:0 1.6mm;white-space:nowrap}\
th.w,td.w{text-align:left}\
td.b{color:#55606b;font-size:8.5pt}\
td.pen,th.pen{border-left:.4pt solid #9aa3ac;min-width:17mm}\
th.pen{text-align:left}\
td.note{min-width:30mm}\
tr.on td{background:#eceff2}\
tr.day td{border-top:1pt solid #1c252e}\
.small{font-size:8pt;color:#3a444e}\
@media print{body{padding:0;max-width:none}tr.on td{-webkit-print-color-adjust:exact;print-color-adjust:exact}}";

/// The sheet as a page to print.
#[must_use]
pub fn html((exercise, sheet): (&Exercise, &Sheet)) -> String {
    let mut rows = String::new();
    let mut day = String::new();
    for row in &sheet.rows {
        let this = row.at.format("%A").to_string();
        let fresh = this != day;
        let shown = if fresh { format!("{} ", row.at.format("%a")) } else { String::new() };
        let mut class = Vec::new();
        if row.on_watch {
            class.push("on");
        }
        if fresh && !day.is_empty() {
            class.push("day");
        }
        day = this;
        let ((left, left_band), (v, v_band)) = (ah(row), receiving(row));
        let watch = if row.on_watch { "on watch" } else { "" };
        let _ = writeln!(
            rows,
            "<tr class=\"{}\"><td class=\"w\">{shown}{}</td><td class=\"w\">{watch}</td><td>{left}</td><td class=\"b\">{left_band}</td><td>{v}</td><td class=\"b\">{v_band}</td><td class=\"pen\"></td><td class=\"pen\"></td><td class=\"pen note\"></td></tr>",
            class.join(" "),
            row.at.format("%H:%M"),
        );
    }
    let mut facts = String::new();
    for (head, words) in plan(exercise, sheet) {
        let _ = writeln!(facts, "<dt>{head}</dt><dd>{}</dd>", escaped(&words));
    }
    if let Some(notes) = &sheet.notes {
        let _ = writeln!(facts, "<dt>Notes</dt><dd>{}</dd>", escaped(notes));
    }
    let station = escaped(&sheet.station);
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{station}: {title}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<h1>{station}</h1>\n<p class=\"of\">{title}{invented}</p>\n<dl>\n{facts}</dl>\n<table>\n<caption>What the meter should show, hour by hour; the columns on the right are for the pen.</caption>\n<thead><tr><th class=\"w\">Time</th><th class=\"w\">Watch</th><th>Ah left</th><th>band</th><th>Volts</th><th>band</th><th class=\"pen\">Read V</th><th class=\"pen\">Read Ah</th><th class=\"pen\">Remarks</th></tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n<p class=\"small\">{read}</p>\n<p class=\"small\">{cautions}</p>\n</body>\n</html>\n",
        cautions = escaped(&caution_words(sheet)),
        title = escaped(&sheet.title),
        invented =
            sheet.invented.as_ref().map_or(String::new(), |it| format!("<br>{}", escaped(it))),
        read = escaped(&how_to_read(sheet)),
    )
}
