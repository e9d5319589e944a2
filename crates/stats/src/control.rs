//! Control charts: is the bench still the bench it was?

use crate::distribution::integrate;
use crate::error::{Result, StatsError, at_least, positive};
use crate::studentized_range::StudentizedRange;
use crate::summary::mean;

/// d2 of ranges of two, as tables of control charts print it. The exact value
/// is 2/√π = 1.12838.
pub const D2_OF_TWO: f64 = 1.128;

/// Center line and limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Center line.
    pub center: f64,
    /// Mean moving range, where the limits come from one.
    pub moving_range: f64,
    /// Upper limit.
    pub upper: f64,
    /// Lower limit.
    pub lower: f64,
}

/// Gives the limits of an individuals chart: x̄ ± 3 MR̄/d2, MR̄ the mean of
/// |x_i − x_{i−1}|, d2 = 1.128.
///
/// # Errors
/// `TooFew` below two values.
///
/// Source: NIST/SEMATECH e-Handbook 6.3.2.2.
pub fn individuals(values: &[f64]) -> Result<Limits> {
    at_least(values.len(), 2)?;
    let moving_range =
        values.windows(2).map(|w| (w[1] - w[0]).abs()).sum::<f64>() / (values.len() - 1) as f64;
    let center = mean(values);
    let half = 3.0 * moving_range / D2_OF_TWO;
    Ok(Limits { center, moving_range, upper: center + half, lower: center - half })
}

/// Gives the exponentially weighted moving average, the target first:
/// z_t = λ x_t + (1 − λ) z_{t−1}, z_0 the target.
///
/// # Errors
/// `OutOfRange` for λ outside (0, 1].
///
/// Source: NIST/SEMATECH e-Handbook 6.3.2.4; Roberts 1959.
pub fn ewma(values: &[f64], target: f64, lambda: f64) -> Result<Vec<f64>> {
    weight(lambda)?;
    let mut at = target;
    let mut averages = vec![target];
    averages.extend(values.iter().map(|x| {
        at += lambda * (x - at);
        at
    }));
    Ok(averages)
}

/// Gives the limits of the average after `t` values, or in the long run for
/// `None`: target ± k s [λ/(2 − λ) (1 − (1 − λ)^{2t})]^½. As (lower, upper).
///
/// # Errors
/// `OutOfRange` for λ outside (0, 1] or a scatter that is not positive.
///
/// Source: NIST/SEMATECH e-Handbook 6.3.2.4; Lucas and Saccucci,
/// *Technometrics* 32 (1990) 1.
pub fn ewma_limits(target: f64, scatter: f64, lambda: f64, k: f64, t: Option<u32>) -> Result<(f64, f64)> {
    weight(lambda)?;
    positive("scatter", scatter)?;
    let settled = t.map_or(1.0, |t| 1.0 - libm::pow(1.0 - lambda, 2.0 * f64::from(t)));
    let half = k * scatter * (lambda / (2.0 - lambda) * settled).sqrt();
    Ok((target - half, target + half))
}

fn weight(lambda: f64) -> Result<()> {
    if lambda > 0.0 && lambda <= 1.0 {
        Ok(())
    } else {
        Err(StatsError::OutOfRange { name: "lambda", value: lambda })
    }
}

/// Constants of charts of samples of `n`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Constants {
    /// Mean range over σ.
    pub d2: f64,
    /// Standard deviation of the range over σ.
    pub d3: f64,
    /// Mean standard deviation over σ.
    pub c4: f64,
    /// Half-width of the limits of means, in mean ranges: 3/(d2 √n).
    pub a2: f64,
    /// Upper limit of ranges, in mean ranges: 1 + 3 d3/d2.
    pub d4: f64,
}

/// Works out the constants of control charts for samples of `n` from a normal
/// distribution: d2 = ∫(1 − R_n(w))dw, d3² = 2∫w(1 − R_n(w))dw − d2²,
/// c4 = [2/(n − 1)]^½ Γ(n/2)/Γ((n − 1)/2).
///
/// # Errors
/// `TooFew` below two, `OutOfRange` above ten thousand.
///
/// Source: ASTM E2587 (from memory, not opened), NIST/SEMATECH e-Handbook
/// 6.3.2.1; integrals checked against `scipy`.
pub fn constants(n: usize) -> Result<Constants> {
    let range = StudentizedRange::new(n)?;
    let beyond = |w: f64| 1.0 - range.normal_range_below(w);
    let d2 = integrate(0.0, 16.0, 0.5, beyond);
    let d3 = (2.0 * integrate(0.0, 16.0, 0.5, |w| w * beyond(w)) - d2 * d2).sqrt();
    let n = n as f64;
    let c4 = (2.0 / (n - 1.0)).sqrt() * libm::exp(libm::lgamma(0.5 * n) - libm::lgamma(0.5 * (n - 1.0)));
    Ok(Constants { d2, d3, c4, a2: 3.0 / (d2 * n.sqrt()), d4: 1.0 + 3.0 * d3 / d2 })
}
