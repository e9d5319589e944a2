//! A flow bench with a known truth: it repeats, drifts, is set a little off
//! and leaks, all from one seed.

use airshelf_stats::compare::{Fitting, Group, Leakage, Subject, TypeB};

/// Conventional inch of water, Pa (NIST SP 811, B.8).
pub const INH2O: f64 = 249.08891;
/// Cubic foot per minute, m³/s (NIST SP 811, B.8).
pub const CFM: f64 = 4.719_474_432e-4;

/// Where an evening has baselines.
#[derive(Clone, Copy, PartialEq)]
pub enum Baselines {
    /// Before the first round, between rounds, after the last.
    Every,
    /// Not after the last.
    EndMissing,
    /// Before the first round only.
    FirstOnly,
    /// None.
    No,
}

/// What is true of an evening.
#[derive(Clone)]
pub struct Evening {
    pub assemblies: usize,
    pub repeats: usize,
    pub baselines: Baselines,
    /// ln of every assembly's flow over the baseline's, at the set pressure.
    pub truth: Vec<f64>,
    /// Standard deviation of a fitting of an assembly, in ln flow.
    pub scatter: f64,
    /// The same of a baseline, relative to that.
    pub baseline_scatter: f64,
    /// Standard deviation of a reading within a fitting.
    pub reading: f64,
    pub readings: u32,
    /// Loss of ln flow over the evening, and the share of it that is curved:
    /// drift (1 − c) τ + drift c τ².
    pub drift: f64,
    pub curve: f64,
    pub set_pressure_pa: f64,
    /// How well the pressure is set and how well it is read, Pa.
    pub setting_pa: f64,
    pub gauge_pa: f64,
    /// Exponent with which the assemblies' flow follows the pressure.
    pub exponent: f64,
    /// Leakage as recorded, and the exponent that it truly has.
    pub leakage: Option<(Leakage, f64)>,
}

impl Evening {
    /// A quiet evening at 28 inH2O.
    pub fn new(assemblies: usize, repeats: usize) -> Self {
        Self {
            assemblies,
            repeats,
            baselines: Baselines::Every,
            truth: vec![0.0; assemblies],
            scatter: 0.0035,
            baseline_scatter: 1.0,
            reading: 0.0005,
            readings: 2,
            drift: 0.0,
            curve: 0.0,
            set_pressure_pa: 28.0 * INH2O,
            setting_pa: 0.0,
            gauge_pa: 0.0,
            exponent: 0.5,
            leakage: None,
        }
    }

    /// The same with real losses of 0.5 to 6 %.
    pub fn with_losses(mut self) -> Self {
        let last = (self.assemblies - 1).max(1) as f64;
        self.truth = (0..self.assemblies).map(|i| libm::log(1.0 - 0.005 - 0.055 * i as f64 / last)).collect();
        self
    }

    /// Runs the evening: rounds of all assemblies in random order.
    pub fn run(&self, chance: &mut Chance) -> Group {
        let mut order = Vec::new();
        for round in 0..self.repeats {
            match self.baselines {
                Baselines::No => {}
                Baselines::FirstOnly if round > 0 => {}
                _ => order.push(Subject::Baseline),
            }
            let mut these: Vec<Subject> = (0..self.assemblies).map(Subject::Assembly).collect();
            chance.rng.shuffle(&mut these);
            order.extend(these);
        }
        if self.baselines == Baselines::Every {
            order.push(Subject::Baseline);
        }
        let last = (order.len() - 1) as f64;
        let fittings = order
            .iter()
            .enumerate()
            .map(|(at, &who)| self.fit(who, at as f64, at as f64 / last, chance))
            .collect();
        let mut group = Group::new(Some(self.set_pressure_pa), fittings);
        group.leakage = self.leakage.map(|(recorded, _)| recorded);
        group
    }

    fn fit(&self, subject: Subject, when: f64, tau: f64, chance: &mut Chance) -> Fitting {
        let (truth, scatter, exponent) = match subject {
            Subject::Baseline => (0.0, self.scatter * self.baseline_scatter, 0.5),
            Subject::Assembly(i) => (self.truth[i], self.scatter, self.exponent),
        };
        let pressure = self.set_pressure_pa + self.setting_pa * chance.normal();
        let drift = -self.drift * ((1.0 - self.curve) * tau + self.curve * tau * tau);
        let reading = self.reading / f64::from(self.readings).sqrt();
        let noise = scatter * chance.normal() + reading * chance.normal();
        let through = 550.0
            * CFM
            * libm::exp(truth + drift + noise + exponent * libm::log(pressure / self.set_pressure_pa));
        let leak = self.leakage.map_or(0.0, |(recorded, exponent)| {
            let at = recorded.at_pressure_pa.unwrap_or(self.set_pressure_pa);
            recorded.flow_m3_s * libm::pow(pressure / at, exponent)
        });
        Fitting {
            subject,
            when,
            flow_m3_s: through + leak,
            actual_pressure_pa: (self.setting_pa > 0.0).then(|| pressure + self.gauge_pa * chance.normal()),
            readings: self.readings,
            type_b: TypeB::default(),
        }
    }
}

/// Seeded chance.
pub struct Chance {
    pub rng: fastrand::Rng,
}

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self { rng: fastrand::Rng::with_seed(seed) }
    }

    /// A standard normal deviate (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(1.0 - self.rng.f64())).sqrt();
        radius * libm::cos(std::f64::consts::TAU * self.rng.f64())
    }
}
