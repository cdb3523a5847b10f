//! Switching controllers: they hold their panels at battery volts, so the panels' curve counts.

use super::{Check, num};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};
use crate::scenario::sources::{Array, Controller, PanelSheet, Pwm};
use crate::warning::Kind;

/// By how much a datasheet's own numbers may miss its rated power, share.
const RATED_WITHIN_SHARE: f64 = 0.1;
/// Most of the short-circuit current over that of the best point, and of the open volts over those of
/// the best point: crystalline panels have 1.05 to 1.1 and 1.15 to 1.25, thin films up to 1.3 and
/// 1.4 (common practice, no source).
const MOST_ISC_OVER_IMP: f64 = 1.4;
const MOST_VOC_OVER_VMP: f64 = 1.5;
/// Fill factors of panels, `Imp Vmp / (Isc Voc)`. Above: what an ideal silicon cell of 0.75 V open has,
/// 0.86 by M. A. Green, Solid-State Electronics 24 (1981) 788 (from memory), and what labels round.
/// Below: poor thin films (common practice, no source).
const FILL_FACTOR: (f64, f64) = (0.5, 0.88);
/// Cells warmed by the sun have this share of their volts at 25 deg C: 25 K at -0.4 % per kelvin.
const WARM_SHARE: f64 = 0.9;

impl Check<'_> {
    pub(super) fn switching(&mut self) {
        let scenario = self.scenario;
        for (name, array) in &scenario.arrays {
            let at = JsonPath::keys(&["arrays", name]);
            if let Some(sheet) = &array.datasheet {
                self.datasheet(&at, array, sheet);
            }
            let Some(Controller::Pwm(it)) = scenario.controllers.get(&array.controller) else {
                continue;
            };
            match &array.datasheet {
                None => {
                    let text = format!("array `{name}` needs the points of its panels’ curve");
                    let kind = JsonPath::keys(&["controllers", &array.controller, "pwm"]);
                    let problem = Problem::new(ProblemKind::MissingKey, &text)
                        .at(self.spans, &at.key("controller"), "no `datasheet` beside it")
                        .at_key(self.spans, &kind, "holds its panels at battery volts")
                        .hint(
                            "Add `\"datasheet\": {\"isc_a\": ..., \"voc_v\": ..., \"imp_a\": ..., \
                             \"vmp_v\": ...}` from the label on the panel’s back.",
                        );
                    self.found(problem);
                }
                Some(sheet) => self.panel_volts(&at, sheet, it),
            }
        }
    }

    /// The points of a curve against each other.
    fn datasheet(&mut self, array_at: &JsonPath, array: &Array, sheet: &PanelSheet) {
        let at = array_at.key("datasheet");
        if sheet.imp_a >= sheet.isc_a {
            self.clash(
                "a panel gives less at its best point than short-circuited",
                (&at.key("imp_a"), &format!("{} A at the best point", num(sheet.imp_a))),
                (&at.key("isc_a"), &format!("{} A short-circuited", num(sheet.isc_a))),
                "",
            );
        }
        if sheet.vmp_v >= sheet.voc_v {
            self.clash(
                "a panel has fewer volts at its best point than with nothing connected",
                (&at.key("vmp_v"), &format!("{} V at the best point", num(sheet.vmp_v))),
                (&at.key("voc_v"), &format!("{} V open", num(sheet.voc_v))),
                "",
            );
        }
        if sheet.imp_a < sheet.isc_a && sheet.vmp_v < sheet.voc_v {
            self.label(&at, sheet);
        }
        if !array.count.is_multiple_of(sheet.in_series) {
            self.clash(
                "the panels do not make whole strings",
                (&at.key("in_series"), &format!("strings of {}", sheet.in_series)),
                (&array_at.key("count"), &format!("{} panels", array.count)),
                "",
            );
        }
        let best_w = sheet.imp_a * sheet.vmp_v;
        if (best_w / array.rated_w - 1.0).abs() > RATED_WITHIN_SHARE {
            let text = format!(
                "The datasheet’s {} A and {} V make {} W; `rated_w` says {} W.",
                num(sheet.imp_a),
                num(sheet.vmp_v),
                num(best_w.round()),
                num(array.rated_w)
            );
            self.warn(Kind::Note, &array_at.key("rated_w"), text);
        }
    }

    /// A label whose points belong to different panels, or to several of them.
    fn label(&mut self, at: &JsonPath, sheet: &PanelSheet) {
        let (amps, volts) = (sheet.isc_a / sheet.imp_a, sheet.voc_v / sheet.vmp_v);
        let fill = 1.0 / (amps * volts);
        let (least, most) = FILL_FACTOR;
        let shown = |value: f64| num((value * 100.0).round() / 100.0);
        let (current, short) = (at.key("imp_a"), at.key("isc_a"));
        let short_label = format!("{} A short-circuited", num(sheet.isc_a));
        let current_label = format!("{} A at the best point", num(sheet.imp_a));
        let open_label = format!("{} V open", num(sheet.voc_v));
        let best_label = format!("{} V at the best point", num(sheet.vmp_v));
        let text = "the panel’s label contradicts itself";
        let hint = "Take all four from the label of one panel: `in_series` and `count` say how many \
                    there are.";
        if amps > MOST_ISC_OVER_IMP {
            let hint = format!(
                "Up to {} times as much can be, not {}. {hint}",
                num(MOST_ISC_OVER_IMP),
                shown(amps)
            );
            self.clash(text, (&short, &short_label), (&current, &current_label), &hint);
        } else if volts > MOST_VOC_OVER_VMP {
            let hint = format!(
                "Up to {} times as many can be, not {}. {hint}",
                num(MOST_VOC_OVER_VMP),
                shown(volts)
            );
            self.clash(
                text,
                (&at.key("voc_v"), &open_label),
                (&at.key("vmp_v"), &best_label),
                &hint,
            );
        } else if !(least..=most).contains(&fill) {
            let problem = Problem::new(ProblemKind::Impossible, text)
                .at(self.spans, &current, &current_label)
                .at(self.spans, &at.key("vmp_v"), &best_label)
                .at(self.spans, &short, &short_label)
                .at(self.spans, &at.key("voc_v"), &open_label)
                .allowed(&format!(
                    "a fill factor of {} to {}; these make {}",
                    num(least),
                    num(most),
                    shown(fill)
                ))
                .hint(hint);
            self.found(problem);
        }
    }

    /// Panels with too few volts for the battery, or with many more than it takes.
    fn panel_volts(&mut self, at: &JsonPath, sheet: &PanelSheet, it: &Pwm) {
        if sheet.vmp_v >= sheet.voc_v {
            return;
        }
        let series = f64::from(sheet.in_series);
        let needed_v = it.set_points.absorption_v + it.drop_v;
        let (best_v, open_v) = (sheet.vmp_v * series, sheet.voc_v * series);
        let path = at.key("datasheet").key("voc_v");
        if open_v * WARM_SHARE <= needed_v {
            let text = format!(
                "These panels never bring the battery to {} V: warmed by the sun they have {} V, \
                 with nothing connected.",
                num(it.set_points.absorption_v),
                num((open_v * WARM_SHARE * 10.0).round() / 10.0)
            );
            self.warn(Kind::Note, &path, text);
        } else if best_v > 2.0 * needed_v {
            let text = format!(
                "At battery volts these panels give less than half of their power: their best \
                 point is at {} V. A tracking controller would lose little.",
                num(best_v)
            );
            self.warn(Kind::Note, &path, text);
        }
    }
}
