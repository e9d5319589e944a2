//! Normal, Student, chi-square and F: tails and quantiles.
//!
//! Quantiles are found by bracketing and Newton steps, so that they are as
//! exact as the tails.

use crate::special::{beta_below, gamma_above};

use crate::error::{Result, StatsError, positive, probability};

/// Degrees of freedom from which Student's distribution is taken as normal:
/// the quantiles then agree to 1e-9.
const AS_GOOD_AS_INFINITE: f64 = 1e9;

/// Gives the probability that a standard normal deviate lies below `z`:
/// Φ(z) = ½ erfc(−z/√2). Any `z`.
///
/// ```
/// assert!((airshelf_stats::distribution::normal_below(1.959963984540054) - 0.975).abs() < 1e-12);
/// ```
#[must_use]
pub fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Gives the standard normal density at `z`.
#[must_use]
pub fn normal_density(z: f64) -> f64 {
    libm::exp(-0.5 * z * z) / (2.0 * std::f64::consts::PI).sqrt()
}

/// Gives the `z` below which a standard normal deviate lies with probability
/// `p`, 0 < p < 1.
///
/// # Errors
/// `OutOfRange` outside that range.
pub fn normal_quantile(p: f64) -> Result<f64> {
    probability("p", p)?;
    if p > 0.5 {
        return Ok(-normal_quantile(1.0 - p)?);
    }
    // ln Φ is concave and Φ(z) ≤ ½exp(−z²/2), so that from here each step of Newton's comes nearer and none goes past.
    let mut z = -(-2.0 * libm::log(p)).sqrt();
    for _ in 0..100 {
        let below = normal_below(z);
        let step = (libm::log(p) - libm::log(below)) * below / normal_density(z);
        z += step;
        if step <= z.abs() * f64::EPSILON {
            break;
        }
    }
    Ok(z)
}

/// Gives the probability that |t| exceeds `t` in size: the two-sided p value
/// of Student's distribution with `nu` degrees of freedom (> 0, may be broken
/// or infinite). I_x(ν/2, ½) with x = ν/(ν+t²).
#[must_use]
pub fn student_two_sided(t: f64, nu: f64) -> f64 {
    if t == 0.0 {
        return 1.0;
    }
    if nu >= AS_GOOD_AS_INFINITE {
        return chi_square_above(t * t, 1.0);
    }
    let square = t * t;
    if square < nu {
        // Near the middle the complement keeps the digits.
        return 1.0 - beta_below(0.5, 0.5 * nu, square / (nu + square));
    }
    beta_below(0.5 * nu, 0.5, nu / (nu + square))
}

/// Gives `t_p(ν)`, the half-width in standard uncertainties that holds the
/// share `p` of Student's distribution, two-sided.
///
/// `p` in (0, 1); `nu` > 0 and possibly infinite, broken degrees of freedom
/// are taken as they are.
///
/// # Errors
/// `OutOfRange` for `p` or `nu` outside those ranges.
///
/// Source: JCGM 100:2008 (GUM) annex G, table G.2.
///
/// ```
/// let t = airshelf_stats::distribution::student_factor(0.95, 4.0).unwrap();
/// assert!((t - 2.7764451051977934).abs() < 1e-9);
/// ```
pub fn student_factor(p: f64, nu: f64) -> Result<f64> {
    probability("p", p)?;
    if nu.is_nan() || nu <= 0.0 {
        return Err(StatsError::OutOfRange { name: "degrees of freedom", value: nu });
    }
    let normal = normal_quantile(0.5 + 0.5 * p)?;
    if nu >= AS_GOOD_AS_INFINITE {
        return Ok(normal);
    }
    let tail = 1.0 - p;
    // ln(tail) is close to linear in ln t far out and smooth everywhere.
    Ok(increasing_root(|t| -libm::log(student_two_sided(t, nu)) + libm::log(tail), normal.max(1e-8)))
}

/// Gives the probability that an F ratio exceeds `f`, with `nu1` and `nu2`
/// degrees of freedom (both > 0; `nu2` may be infinite).
#[must_use]
pub fn f_above(f: f64, nu1: f64, nu2: f64) -> f64 {
    if f <= 0.0 {
        return 1.0;
    }
    if nu2 >= AS_GOOD_AS_INFINITE {
        return chi_square_above(f * nu1, nu1);
    }
    beta_below(0.5 * nu2, 0.5 * nu1, (nu2 / (nu2 + nu1 * f)).clamp(0.0, 1.0))
}

/// Gives the probability that chi-square with `nu` degrees of freedom exceeds
/// `x`.
#[must_use]
pub fn chi_square_above(x: f64, nu: f64) -> f64 {
    if x <= 0.0 {
        1.0
    } else if x.is_infinite() {
        0.0
    } else {
        gamma_above(0.5 * nu, 0.5 * x)
    }
}

/// The density of s = √(χ²_ν/ν), a standard deviation relative to the true
/// one, with its constant worked out once.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RelativeScatter {
    nu: f64,
    constant: f64,
}

impl RelativeScatter {
    pub(crate) fn new(nu: f64) -> Result<Self> {
        positive("degrees of freedom", nu)?;
        let half = 0.5 * nu;
        // ln[2 (ν/2)^(ν/2) e^(−ν/2) / Γ(ν/2)]; Stirling where the parts would cancel.
        let constant = if nu > 200.0 {
            0.5 * libm::log(nu / std::f64::consts::PI) - 1.0 / (6.0 * nu) + 1.0 / (45.0 * nu.powi(3))
        } else {
            std::f64::consts::LN_2 + half * libm::log(half) - half - libm::lgamma(half)
        };
        Ok(Self { nu, constant })
    }

    pub(crate) fn density(&self, s: f64) -> f64 {
        libm::exp(self.constant + (self.nu - 1.0) * libm::log(s) - 0.5 * self.nu * (s * s - 1.0))
    }

    /// Where all but 1e-15 of the density lies.
    pub(crate) fn span(&self) -> (f64, f64) {
        let reach = 8.5 / (2.0 * self.nu).sqrt();
        ((1.0 - reach).max(0.0), 1.0 + reach)
    }

    pub(crate) fn above(&self, s: f64) -> f64 {
        chi_square_above(self.nu * s * s, self.nu)
    }
}

/// Ten-point Gauss-Legendre nodes and weights on (0, 1).
const NODES: [(f64, f64); 10] = [
    (0.01304673574141414, 0.03333567215434407),
    (0.06746831665550775, 0.0747256745752903),
    (0.1602952158504878, 0.10954318125799102),
    (0.2833023029353764, 0.13463335965499817),
    (0.4255628305091844, 0.14776211235737644),
    (0.5744371694908156, 0.14776211235737644),
    (0.7166976970646236, 0.13463335965499817),
    (0.8397047841495122, 0.10954318125799102),
    (0.9325316833444922, 0.0747256745752903),
    (0.9869532642585859, 0.03333567215434407),
];

/// Integrates `f` from `a` to `b` by ten-point Gauss-Legendre panels no wider
/// than `panel`.
pub(crate) fn integrate(a: f64, b: f64, panel: f64, f: impl Fn(f64) -> f64) -> f64 {
    if b <= a {
        return 0.0;
    }
    let panels = ((b - a) / panel).ceil().max(1.0);
    let width = (b - a) / panels;
    (0..panels as usize)
        .map(|i| {
            let from = a + i as f64 * width;
            NODES.iter().map(|(x, weight)| weight * f(from + x * width)).sum::<f64>() * width
        })
        .sum()
}

/// Finds the positive root of an increasing function, bracketing outward from
/// `start` and then by Illinois' secant.
pub(crate) fn increasing_root(f: impl Fn(f64) -> f64, start: f64) -> f64 {
    let (mut low, mut high) = (start, start);
    let (mut at_low, mut at_high) = (f(low), f64::NAN);
    if at_low < 0.0 {
        for _ in 0..200 {
            high = low * 1.6 + 1e-12;
            at_high = f(high);
            if at_high >= 0.0 {
                break;
            }
            (low, at_low) = (high, at_high);
        }
    } else {
        (high, at_high) = (low, at_low);
        for _ in 0..200 {
            low = high / 1.6;
            at_low = f(low);
            if at_low <= 0.0 {
                break;
            }
            (high, at_high) = (low, at_low);
        }
    }
    for _ in 0..100 {
        if high - low <= 1e-14 * high {
            break;
        }
        let mut x = (low * at_high - high * at_low) / (at_high - at_low);
        if x.is_nan() || x <= low || x >= high {
            x = 0.5 * (low + high);
        }
        let at = f(x);
        if at == 0.0 {
            return x;
        }
        if at > 0.0 {
            // The stale end is weighed down so that it moves, too.
            (high, at_high, at_low) = (x, at, at_low * 0.5);
        } else {
            (low, at_low, at_high) = (x, at, at_high * 0.5);
        }
        if at.abs() < 1e-15 {
            return x;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gauss_legendre_is_exact_for_its_degree() {
        let got = integrate(0.0, 1.0, 1.0, |x| x.powi(19));
        assert!((got - 0.05).abs() < 1e-15, "{got}");
        assert!((NODES.iter().map(|n| n.1).sum::<f64>() - 1.0).abs() < 1e-15);
    }

    #[test]
    fn relative_scatter_is_a_density_on_both_sides_of_stirling() {
        for nu in [1.0, 2.0, 3.7, 20.0, 199.0, 201.0, 5000.0, 1e7] {
            let s = RelativeScatter::new(nu).unwrap();
            let (a, b) = s.span();
            let all = integrate(a, b, 0.5 / nu.sqrt(), |x| s.density(x));
            assert!((all - 1.0).abs() < 1e-9, "nu {nu}: {all}");
        }
    }

    /// `ncdf` of mpmath 1.4.1, inverted with 40 digits.
    #[test]
    fn normal_quantiles_are_those_of_mpmath() {
        for (p, z) in [
            (0.975, 1.959_963_984_540_054),
            (0.3, -0.524_400_512_708_041),
            (1e-4, -3.719_016_485_455_680_6),
            (1e-12, -7.034_483_825_301_132),
            (1e-300, -37.047_096_299_361_2),
            (0.999, 3.090_232_306_167_813_5),
        ] {
            let got = normal_quantile(p).unwrap();
            assert!((got / z - 1.0).abs() < 2e-14, "{p}: {got}");
        }
        assert!(normal_quantile(0.5).unwrap().abs() < 1e-15);
    }

    #[test]
    fn student_factor_undoes_the_tail() {
        for nu in [0.7, 1.0, 2.0, 4.4, 30.0, 1e4, 1e8] {
            for p in [0.01, 0.5, 0.95, 0.9999] {
                let t = student_factor(p, nu).unwrap();
                assert!((student_two_sided(t, nu) - (1.0 - p)).abs() < 1e-9, "{nu} {p}");
            }
        }
    }
}
