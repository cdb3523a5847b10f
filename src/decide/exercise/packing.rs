//! Who brings what: a list with mass and price.

use serde::Serialize;

use crate::plan::club::GoodClub;
use crate::scenario::Named;

/// Mass of petrol, kg a litre: 0.720 to 0.775 (EN 228), the middle.
const FUEL_KG_L: f64 = 0.745;

/// What is packed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Packing {
    /// What prices are in.
    pub currency: Option<String>,
    /// Everything, in the order of the file.
    pub rows: Vec<PackingRow>,
    /// By owner.
    pub by_owner: Named<Sum>,
    /// All of it.
    pub all: Sum,
}

/// One thing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PackingRow {
    /// What it is.
    pub what: String,
    /// Whose it is; empty when nobody is named.
    pub owner: String,
    /// How many.
    pub count: u32,
    /// What all of them weigh, kg; absent when nobody said.
    pub mass_kg: Option<f64>,
    /// What all of them cost; absent when nobody said.
    pub price: Option<f64>,
}

/// A sum of what is known, and how much is not.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Sum {
    /// Things.
    pub things: u32,
    /// Mass of those that were weighed, kg.
    pub mass_kg: f64,
    /// Price of those that have one.
    pub price: f64,
    /// Things whose mass nobody said.
    pub without_mass: u32,
    /// Things whose price nobody said.
    pub without_price: u32,
}

impl Sum {
    fn add(&mut self, row: &PackingRow) {
        self.things += row.count;
        self.mass_kg += row.mass_kg.unwrap_or(0.0);
        self.price += row.price.unwrap_or(0.0);
        self.without_mass += if row.mass_kg.is_none() { row.count } else { 0 };
        self.without_price += if row.price.is_none() { row.count } else { 0 };
    }
}

/// The list of a club.
#[must_use]
pub fn packing(good: &GoodClub) -> Packing {
    let club = &good.club;
    let mut rows = Vec::new();
    let mut add = |what: String,
                   owner: Option<&String>,
                   count: u32,
                   mass_kg: Option<f64>,
                   price: Option<f64>| {
        let owner = owner.cloned().unwrap_or_default();
        let all = |one: Option<f64>| one.map(|one| one * f64::from(count));
        rows.push(PackingRow { what, owner, count, mass_kg: all(mass_kg), price: all(price) });
    };
    for (name, it) in &club.stations {
        add(format!("station {name}"), it.owner.as_ref(), 1, it.mass_kg, it.price);
    }
    for (name, it) in club.packs.iter().flat_map(|packs| &packs.each) {
        add(format!("pack {name}"), it.owner.as_ref(), 1, it.mass_kg, it.price);
    }
    if let (Some(point), Some(composed)) = (&club.charging_point, &good.point) {
        add("charging point".to_owned(), point.owner.as_ref(), 1, point.mass_kg, point.price);
        if let Some(engine) = &composed.scenario.generator {
            let owner = point.generator_owner.as_ref().or(point.owner.as_ref());
            let mass_kg = Some(engine.fuel_l * FUEL_KG_L);
            add(format!("fuel, {} l", engine.fuel_l), owner, 1, mass_kg, None);
        }
    }
    for (name, it) in &club.gear {
        add(name.clone(), it.owner.as_ref(), it.count, it.mass_kg, it.price);
    }
    let mut by_owner: Named<Sum> = Named::new();
    let mut all = Sum::default();
    for row in &rows {
        by_owner.entry(row.owner.clone()).or_default().add(row);
        all.add(row);
    }
    Packing { currency: club.currency.clone(), rows, by_owner, all }
}
