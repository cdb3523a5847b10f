//! Panels, skyline, profile: what can be said about the sun without computing it.

use super::Check;
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};
use crate::scenario::sun::{Profile, Sun};
use crate::warning::Kind;

/// Between the tropics the sun comes from both sides.
const TROPIC_DEG: f64 = 23.5;
/// Within this of the pole's direction a panel faces the pole.
const NEAR_POLE_DEG: f64 = 60.0;
/// Flatter panels see the sun whichever way they face.
const STEEP_DEG: f64 = 20.0;

impl Check<'_> {
    pub(super) fn sun(&mut self) {
        self.facing();
        self.skyline();
        match &self.scenario.sun {
            Sun::Profile(profile) => self.profile(profile),
            Sun::Climate(climate) => self.climate(climate),
            Sun::Measured(measured) => self.measured(measured),
        }
    }

    fn facing(&mut self) {
        let latitude_deg = self.scenario.site.latitude_deg;
        if latitude_deg.abs() < TROPIC_DEG {
            return;
        }
        let (pole_deg, pole, noon) =
            if latitude_deg > 0.0 { (0.0, "north", "180") } else { (180.0, "south", "0") };
        for (name, array) in &self.scenario.arrays {
            let off_deg = (array.azimuth_deg - pole_deg).rem_euclid(360.0);
            let off_deg = off_deg.min(360.0 - off_deg);
            if array.tilt_deg > STEEP_DEG && off_deg <= NEAR_POLE_DEG {
                let text = format!(
                    "The array “{name}” faces {pole}; the noon sun stands at azimuth {noon} here."
                );
                self.warn(Kind::FacesPole, &JsonPath::keys(&["arrays", name, "azimuth_deg"]), text);
            }
        }
    }

    fn skyline(&mut self) {
        let points = &self.scenario.site.horizon;
        for place in 1..points.len() {
            if points[place].azimuth_deg <= points[place - 1].azimuth_deg {
                let list = JsonPath::keys(&["site", "horizon"]);
                let same = points[place].azimuth_deg == points[place - 1].azimuth_deg;
                let text = if same {
                    "the skyline has two heights at one azimuth"
                } else {
                    "the skyline must go round from north by east, point by point"
                };
                self.clash(
                    text,
                    (
                        &list.index(place).key("azimuth_deg"),
                        if same { "again" } else { "smaller than the one before" },
                    ),
                    (&list.index(place - 1).key("azimuth_deg"), "the point before"),
                    "",
                );
            }
        }
    }

    fn profile(&mut self, profile: &Profile) {
        let at = JsonPath::keys(&["sun", "profile"]);
        match (&profile.in_plane_w_m2, &profile.rated_share) {
            (Some(_), Some(_)) => {
                let problem =
                    Problem::new(ProblemKind::Conflict, "a profile is given one way, not two")
                        .at_key(self.spans, &at.key("rated_share"), "as a share of rated power")
                        .at_key(self.spans, &at.key("in_plane_w_m2"), "as irradiance")
                        .hint("Take one of them away.");
                self.found(problem);
            }
            (None, None) => {
                let problem = Problem::new(ProblemKind::MissingKey, "a profile needs its 24 hours")
                    .at_key(self.spans, &at, "neither `in_plane_w_m2` nor `rated_share`")
                    .hint("Give `in_plane_w_m2` (irradiance on the panels) or `rated_share` (of rated power).");
                self.found(problem);
            }
            _ => {}
        }
        let lists =
            [("in_plane_w_m2", &profile.in_plane_w_m2), ("rated_share", &profile.rated_share)];
        for (key, values) in lists {
            if let Some(values) = values.as_ref().filter(|values| values.len() != 24) {
                let text = format!("`{key}` must hold 24 values, one an hour of standard time");
                let problem = Problem::new(ProblemKind::WrongType, &text).at(
                    self.spans,
                    &at.key(key),
                    &format!("found {}", values.len()),
                );
                self.found(problem);
            }
        }
    }
}
