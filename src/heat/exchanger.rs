//! Effectiveness and number of transfer units of a cross-flow exchanger with both fluids unmixed, which is what a
//! charge-air cooler of tubes and fins is.

/// Terms of the series: far more than it needs at the greatest NTU that is looked at.
const TERMS: usize = 400;

/// Beyond this many transfer units nothing is told apart any more.
const MOST: f64 = 60.0;

/// Effectiveness, referred to the fluid with the smaller capacity rate, from NTU = UA / C_min and C_r = C_min / C_max in
/// \[0, 1\]: the exact series of W. Nusselt (1911) in the form of J. L. Mason (1955),
///
/// ε = 1/(C_r NTU) Σ_n \[1 − e^(−NTU) Σ_m≤n NTU^m/m!\] \[1 − e^(−C_r NTU) Σ_m≤n (C_r NTU)^m/m!\]
///
/// (MEMORY; equal to the integral form that ht 1.2.0 evaluates, tests/exchanger.rs). 1 − exp(−NTU) for C_r = 0.
#[must_use]
pub fn effectiveness(ntu: f64, capacity_ratio: f64) -> f64 {
    if ntu <= 0.0 {
        return if ntu == 0.0 { 0.0 } else { f64::NAN };
    }
    let other = capacity_ratio * ntu;
    if other < 1e-9 {
        return -(-ntu).exp_m1();
    }
    // Each bracket is one less the Poisson sum up to n; built up from its terms.
    let (mut term_a, mut term_b) = ((-ntu).exp(), (-other).exp());
    let (mut left_a, mut left_b) = (-(-ntu).exp_m1(), -(-other).exp_m1());
    let mut sum = 0.0;
    for index in 1..TERMS {
        let product = left_a * left_b;
        sum += product;
        if product <= 1e-16 * sum {
            break;
        }
        let index = index as f64;
        term_a *= ntu / index;
        term_b *= other / index;
        left_a = (left_a - term_a).max(0.0);
        left_b = (left_b - term_b).max(0.0);
    }
    sum / other
}

/// The closed form that many textbooks print for the same exchanger, 1 − exp{NTU^0.22/C_r \[exp(−C_r NTU^0.78) − 1\]}
/// (R. M. Drake's fit as Kays and London give it, MEMORY): up to 4 % off at small NTU. Only for comparison with published examples.
#[must_use]
pub fn effectiveness_closed_form(ntu: f64, capacity_ratio: f64) -> f64 {
    let power = ntu.powf(0.22);
    -(power / capacity_ratio * (-capacity_ratio * ntu / power).exp_m1()).exp_m1()
}

/// NTU from the effectiveness, the series turned round. NaN where no exchanger has it: negative, or 1 and above.
#[must_use]
pub fn transfer_units(wanted: f64, capacity_ratio: f64) -> f64 {
    let sound = (0.0..1.0).contains(&wanted) && (0.0..=1.0).contains(&capacity_ratio);
    if !sound {
        return f64::NAN;
    }
    // With C_r = 0 it would be this; every other exchanger needs more.
    let plain = -(-wanted).ln_1p();
    if wanted == 0.0 || capacity_ratio * plain < 1e-9 {
        return plain;
    }
    let off = |ntu: f64| effectiveness(ntu, capacity_ratio) - wanted;
    let (mut low, mut high) = (plain, MOST);
    let (mut off_low, mut off_high) = (off(low), off(high));
    if off_low >= 0.0 {
        return low;
    }
    if off_high < 0.0 {
        return f64::NAN;
    }
    // Close the bracket from above before the false position starts: the curve is flat out there.
    let mut guess = 1.5 * low;
    while guess < high {
        let here = off(guess);
        if here >= 0.0 {
            (high, off_high) = (guess, here);
            break;
        }
        (low, off_low) = (guess, here);
        guess *= 1.6;
    }
    false_position(off, (low, off_low), (high, off_high))
}

/// False position with the Illinois rule (M. Dowell and P. Jarratt 1971): an end that stays twice counts by half.
fn false_position(off: impl Fn(f64) -> f64, low: (f64, f64), high: (f64, f64)) -> f64 {
    let ((mut low, mut off_low), (mut high, mut off_high)) = (low, high);
    let mut stayed = 0;
    for _ in 0..100 {
        let next = (low * off_high - high * off_low) / (off_high - off_low);
        if !(next > low && next < high) || high - low < 1e-12 * high {
            break;
        }
        let here = off(next);
        if here.abs() < 1e-13 {
            return next;
        }
        if here > 0.0 {
            (high, off_high) = (next, here);
            off_low *= if stayed == 1 { 0.5 } else { 1.0 };
            stayed = 1;
        } else {
            (low, off_low) = (next, here);
            off_high *= if stayed == -1 { 0.5 } else { 1.0 };
            stayed = -1;
        }
    }
    if off_high.abs() < off_low.abs() {
        high
    } else {
        low
    }
}

/// NTU = UA / C_min of a cooler whose charge air, of capacity rate C_hot (W/K), has the
/// effectiveness E = (T_in − T_out)/(T_in − T_air); `cold` is the cooling air's capacity rate, infinite where it is not
/// known. Where the cooling air has the smaller one, ε = E C_hot / C_cold. NaN where no exchanger does that.
#[must_use]
pub fn transfer(charge_effectiveness: f64, hot: f64, cold: f64) -> f64 {
    if cold.is_infinite() {
        return transfer_units(charge_effectiveness, 0.0);
    }
    let (least, most) = (hot.min(cold), hot.max(cold));
    transfer_units(charge_effectiveness * hot / least, least / most)
}

/// The conductance UA, W/K, of so many transfer units between two capacity rates, W/K.
#[must_use]
pub fn conductance(ntu: f64, hot: f64, cold: f64) -> f64 {
    ntu * hot.min(cold)
}
