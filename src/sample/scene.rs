//! The two coolers as the camera sees them from the front of the truck.

use super::canvas::{Canvas, Outline, Place, Skin};
use super::truth::{BARE_WELDED, Cooler, MOULDED, Run, TAPE};

/// Row at half the tanks' height, where the skin has its mean temperature.
const MIDDLE: f64 = 89.0;
/// How much hotter the skin is a tank's half height above the middle than there, K.
const RISE: f64 = 1.0;
/// Half the tanks' height, pixels.
const HALF_HEIGHT: f64 = 59.0;

/// The scene of a run: cooler, pipes, foil and what stands behind them.
#[must_use]
pub fn draw(run: &Run) -> Canvas {
    let mut canvas = backdrop(run);
    pipes(&mut canvas, run);
    core(&mut canvas, run);
    match run.cooler {
        Cooler::Original => moulded_tanks(&mut canvas, run),
        Cooler::Replacement => welded_tanks(&mut canvas, run),
    }
    crossmember(&mut canvas, run);
    foil(&mut canvas, run);
    canvas
}

/// A skin that mirrors the workshop's mean.
fn matt(run: &Run, celsius: f64, emissivity: f64) -> Skin {
    Skin {
        celsius,
        emissivity,
        reflected: run.reflected,
    }
}

/// The tank's skin at a height: hotter towards the top, with its true mean at half height.
fn tank_skin(mean: f64, y: f64) -> f64 {
    mean + RISE * (MIDDLE - y) / HALF_HEIGHT
}

/// A hump of height 1 about a centre, falling to one half a width away from it.
fn hump(value: f64, centre: f64, width: f64) -> f64 {
    let distance = (value - centre) / width;
    1.0 / (1.0 + distance * distance)
}

/// The workshop's wall, a little warmer towards the ceiling, and a panel of the truck across the top.
fn backdrop(run: &Run) -> Canvas {
    let mut canvas = Canvas::new(|[_, y]| matt(run, run.ambient + 0.5 - y / 150.0, 0.92));
    let panel = Outline::Rounded([-10.0, 6.0, 260.0, 13.0, 2.0]);
    canvas.paint(panel, |_| matt(run, run.ambient + 2.2, 0.90));
    for x in [60.0, 120.0, 180.0] {
        let hole = Outline::Rounded([x - 6.0, 9.0, 12.0, 6.0, 3.0]);
        canvas.paint(hole, |_| matt(run, run.ambient, 0.95));
    }
    canvas
}

/// The hot pipe from the turbocharger and the cold one to the engine, each with its clamp.
fn pipes(canvas: &mut Canvas, run: &Run) {
    let hot = ([46.0, 50.0], [-12.0, 34.0], run.inlet_skin + 4.0);
    let cold = ([194.0, 128.0], [252.0, 142.0], run.outlet_skin + 0.8);
    for (from, to, celsius) in [hot, cold] {
        let at = |share: f64| {
            [
                from[0] + share * (to[0] - from[0]),
                from[1] + share * (to[1] - from[1]),
            ]
        };
        canvas.paint(Outline::Stroke(from, to, 9.0), |_| matt(run, celsius, 0.93));
        // The clamp goes across the pipe: along the pipe's direction turned by a right angle.
        let (middle, across) = (at(0.45), [(to[1] - from[1]) / 7.0, (from[0] - to[0]) / 7.0]);
        let ends =
            [1.0, -1.0].map(|side| [middle[0] + side * across[0], middle[1] + side * across[1]]);
        let clamp = Outline::Stroke(ends[0], ends[1], 1.6);
        canvas.paint(clamp, |_| matt(run, celsius - 1.0, 0.25));
    }
}

/// Tubes and fins between the tanks, cooling from the inlet to the outlet, with a plate above and below.
fn core(canvas: &mut Canvas, run: &Run) {
    let (left, width) = (62.0, 116.0);
    let (emissivity, plate) = match run.cooler {
        Cooler::Original => (0.80, 0.35),
        Cooler::Replacement => (0.60, 0.22),
    };
    let tube = |x: f64| {
        let left_over = 1.0 - (x - left) / width;
        run.outlet_skin + (run.inlet_skin - run.outlet_skin) * left_over * left_over
    };
    for top in [33.0, 139.0] {
        let outline = Outline::Rounded([left, top, width, 6.0, 0.0]);
        canvas.paint(outline, |[x, _]| matt(run, tube(x) - 3.0, plate));
    }
    let outline = Outline::Rounded([left, 39.0, width, 100.0, 0.0]);
    canvas.paint(outline, |[x, y]| {
        // Twelve tubes, each 3 pixels high; between them fins in zigzag, cooled towards the air.
        let row = (y - 39.0) % 8.35;
        let zigzag = ((x - left) % 5.0 - 2.5).abs() / 2.5;
        let share = if row < 3.2 { 1.0 } else { 0.55 + 0.2 * zigzag };
        let cavity = if row < 3.2 { emissivity } else { 0.90 };
        matt(run, run.ambient + share * (tube(x) - run.ambient), cavity)
    });
}

/// Black moulded tanks with shallow ribs, each crimped to the core with a bare aluminium strip.
fn moulded_tanks(canvas: &mut Canvas, run: &Run) {
    for (left, strip, mean) in [
        (36.0, 62.0, run.inlet_skin),
        (178.0, 174.0, run.outlet_skin),
    ] {
        let tank = Outline::Rounded([left, 30.0, 26.0, 118.0, 10.0]);
        canvas.paint(tank, |[_, y]| {
            // Ribs 11 pixels apart, a little cooler at their crest and as much warmer at their root.
            let rib = ((y - MIDDLE).abs() % 11.0 - 5.5) / 5.5;
            matt(run, tank_skin(mean, y) + 0.4 * rib, MOULDED)
        });
        let crimp = Outline::Rounded([strip, 31.0, 4.0, 116.0, 0.0]);
        canvas.paint(crimp, |[_, y]| {
            let tab = if y % 6.0 < 3.0 { 0.25 } else { 0.45 };
            matt(run, mean - 2.0, tab)
        });
    }
}

/// Welded tanks of bare aluminium that mirror the workshop, a weld along the core, and two tapes on each tank.
fn welded_tanks(canvas: &mut Canvas, run: &Run) {
    let inlet: [Place; 6] = [
        [66.0, 28.0],
        [66.0, 150.0],
        [44.0, 147.0],
        [33.0, 128.0],
        [33.0, 50.0],
        [44.0, 31.0],
    ];
    let outlet = inlet.map(|[x, y]| [240.0 - x, y]);
    let tanks = [
        (inlet, 64.0, 40.0, run.inlet_skin, true),
        (outlet, 176.0, 182.0, run.outlet_skin, false),
    ];
    for (corners, weld, tape, mean, faces_lamp) in tanks {
        canvas.paint(Outline::Polygon(&corners), |place| Skin {
            celsius: tank_skin(mean, place[1]),
            emissivity: BARE_WELDED,
            reflected: mirrored(run, place, faces_lamp),
        });
        let bead = Outline::Stroke([weld, 30.0], [weld, 148.0], 2.0);
        canvas.paint(bead, |[_, y]| {
            let ripple = if y % 4.0 < 2.0 { 0.30 } else { 0.42 };
            matt(run, tank_skin(mean, y), ripple)
        });
        for top in [52.0, 102.0] {
            let patch = Outline::Rounded([tape, top, 18.0, 24.0, 0.0]);
            canvas.paint(patch, |[_, y]| matt(run, tank_skin(mean, y), TAPE));
        }
    }
}

/// What a bare tank mirrors, °C: a cool wall, the shop's lamp along the inlet tank, the technician in the outlet tank.
fn mirrored(run: &Run, [x, y]: Place, faces_lamp: bool) -> f64 {
    let wall = run.ambient - 1.0 + (MIDDLE - y) / 40.0;
    if faces_lamp {
        wall + 28.0 * hump(x, 38.0, 2.5) * hump(y, 70.0, 40.0)
    } else {
        let figure = hump(x, 190.0, 5.0) * hump(y, 112.0, 22.0);
        wall + 13.0 * figure - 4.0 * hump(x, 205.0, 3.0)
    }
}

/// A painted steel crossmember with holes, below the cooler.
fn crossmember(canvas: &mut Canvas, run: &Run) {
    let beam = Outline::Rounded([-10.0, 154.0, 260.0, 16.0, 0.0]);
    canvas.paint(beam, |[_, y]| {
        matt(run, run.ambient + 3.4 - (y - 154.0) / 12.0, 0.88)
    });
    for x in [24.0, 88.0, 152.0, 216.0] {
        let hole = Outline::Rounded([x - 4.0, 158.0, 8.0, 8.0, 4.0]);
        canvas.paint(hole, |_| matt(run, run.ambient - 0.6, 0.95));
    }
}

/// A crumpled piece of foil beside the inlet tank: its facets mirror the workshop from all sides.
fn foil(canvas: &mut Canvas, run: &Run) {
    let corners = [
        [6.0, 76.0],
        [17.0, 72.0],
        [29.0, 77.0],
        [27.0, 90.0],
        [30.0, 102.0],
        [16.0, 105.0],
        [5.0, 100.0],
        [8.0, 88.0],
    ];
    canvas.paint(Outline::Polygon(&corners), |[x, y]| {
        // Slanting facets that mirror warmer and cooler parts in turn, with the workshop's mean over all of them.
        let facet = ((x + 0.6 * y) % 6.0 - 3.0) / 3.0 + ((y - 0.4 * x + 40.0) % 9.0 - 4.5) / 4.5;
        Skin {
            celsius: run.ambient + 1.5,
            emissivity: 0.04,
            reflected: run.reflected + 5.0 * facet,
        }
    });
}
