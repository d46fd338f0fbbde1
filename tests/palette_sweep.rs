//! A wide look for bars and at regions, for those who change how they are read:
//! `FROM=0 COUNT=200 cargo test --release --test palette_sweep -- --ignored --nocapture` with the name of one of the tests.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod palette_scenes;

use endtank::session::ColourBar;
use palette_scenes::*;
use rayon::prelude::*;

fn number(name: &str, or: u64) -> u64 {
    std::env::var(name).map_or(or, |text| text.parse().unwrap())
}

#[test]
#[ignore = "takes minutes"]
fn bars() {
    let (from, count) = (number("FROM", 0), number("COUNT", 2000));
    let said: Vec<(u8, String)> = (from..from + count)
        .into_par_iter()
        .filter_map(|seed| {
            let (layout, map, store) = any_layout(seed);
            let scene = draw(&map, &layout, seed);
            if !ends_are_seen(&scene.picture, &layout) {
                return None;
            }
            let bytes = encode(&scene.picture, store);
            let about = format!(
                "{seed} {} {store:?} {:?} {:?} paper {:?} border {:?}",
                map.name, layout.bar, layout.cold, layout.paper.0, layout.border
            );
            Some(match read(&bytes, &ColourBar::Find, layout.cold, &[]) {
                Ok(image) => {
                    let found = image.palette.unwrap().bar.rectangle();
                    let off = off(found, &layout);
                    if off.iter().all(|off| off.abs() <= 1) {
                        (0, String::new())
                    } else {
                        (2, format!("WRONG {about}: {found:?} {off:?}"))
                    }
                }
                Err(error) => (1, format!("{about}: {error}")),
            })
        })
        .collect();
    let of = |kind: u8| said.iter().filter(move |one| one.0 == kind);
    for (_, text) in of(1).chain(of(2)) {
        println!("{text}");
    }
    println!(
        "{} scenes: {} refused, {} wrong, right {:.2} %",
        said.len(),
        of(1).count(),
        of(2).count(),
        100.0 * of(0).count() as f64 / said.len() as f64
    );
    let share = |kind: u8| of(kind).count() as f64 / said.len().max(1) as f64;
    assert!(share(0) >= 0.98 && share(2) <= 0.005);
}

fn off(found: [usize; 4], layout: &Layout) -> [i64; 2] {
    let (found, bar) = (found.map(|at| at as i64), layout.bar.map(i64::from));
    let [from, length] = if bar[3] >= bar[2] { [1, 3] } else { [0, 2] };
    [
        found[from] - bar[from],
        found[from] + found[length] - bar[from] - bar[length],
    ]
}

/// Regions of 50 × 100 pixels of other scenes than those of docs/palettes.md, compressed, with bars of 200 steps.
#[test]
#[ignore = "takes minutes"]
fn large_regions() {
    let (from, count) = (number("FROM", 12), number("COUNT", 24));
    let maps = ordered_maps();
    let scenes = maps.par_iter().flat_map_iter(|map| {
        let seeds = (from..from + count).map(|seed| (seed, Layout::plain(seed % 2 == 1, 200)));
        seeds.flat_map(move |(seed, layout)| {
            [75, 80, 85, 90].into_iter().flat_map(move |quality| {
                let found = regions::of_scene(map, Store::Jpeg(quality), &layout, seed);
                let large = found.into_iter().filter(|one| one.size == "50 × 100");
                large.map(move |one| (format!("{seed} {} {quality}", map.name), one))
            })
        })
    });
    let all: Vec<_> = scenes.collect();
    let (mut off, mut covered, mut refused) = (0, 0, 0);
    for (about, one) in &all {
        refused += usize::from(one.invalid >= 0.5);
        covered += usize::from(one.error.abs() <= one.half_width);
        if one.invalid < 0.5 && one.error.abs() > 0.005 {
            off += 1;
            println!("{about}: {one:?}");
        }
    }
    println!(
        "{} regions: {off} off by over 0.5 %, {covered} covered, {refused} refused",
        all.len()
    );
    assert!(2000 * (off + refused) <= all.len());
    assert!(1000 * covered >= 999 * all.len());
}
