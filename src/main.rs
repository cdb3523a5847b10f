fn main() {
    let path = std::env::args().nth(1).unwrap();
    let text = std::fs::read_to_string(path).unwrap();
    let scenario: longwatch::scenario::Scenario = serde_json::from_str(&text).unwrap();
    let plan = longwatch::plan::compile::compile(&scenario, None, vec![]).unwrap();
    let t = std::time::Instant::now();
    let ledger = longwatch::simulate::single::run(&plan);
    eprintln!("{:?} {} slices {} profiles {} rungs", t.elapsed(), plan.slices.len(), plan.profiles.len(), plan.rungs.len());
    for w in &plan.warnings { eprintln!("{w:?}"); }
    for r in &ledger.rows {
        let used: f64 = r.sources.iter().map(|s| s.used_wh).sum();
        let un: f64 = r.groups.iter().map(|s| s.unserved_wh).sum();
        let se: f64 = r.groups.iter().map(|s| s.served_wh).sum();
        println!("{} tier {} s {:.4} V {:.3} lo {:.3} hi {:.3} used {:.1} served {:.1} uns {:.2} open {:.2} res {:.1e} T {:.1} losses {:?}", r.start, r.tier, r.charge_end_share, r.mean_v, r.lowest_v, r.highest_v, used, se, un, r.open_h, r.residual_wh, r.battery_c, r.losses);
    }
}
