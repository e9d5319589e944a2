//! Counting how often intervals cover and verdicts err.

use airshelf_stats::compare::{Comparison, Group, Subject, Verdict, compare};

use super::bench::{Chance, Evening};

/// Sessions a condition: a thousand, or ten thousand for the long run.
pub fn sessions() -> usize {
    if std::env::var_os("AIRSHELF_LONG").is_some_and(|v| v == "1") { 10_000 } else { 1_000 }
}

/// What was counted over many sessions.
#[derive(Default)]
pub struct Tally {
    pub sessions: usize,
    loss: (usize, usize),
    pair: (usize, usize),
    false_resolved: usize,
}

impl Tally {
    pub fn new() -> Self {
        Self { sessions: sessions(), ..Self::default() }
    }

    /// Runs an evening over and over; `prepare` tells the group what the
    /// bench's owner knows.
    pub fn of(evening: &Evening, seed: u64, prepare: impl Fn(&mut Group, &mut Chance)) -> Self {
        let mut chance = Chance::new(seed);
        let mut tally = Self::new();
        for _ in 0..tally.sessions {
            let mut group = evening.run(&mut chance);
            prepare(&mut group, &mut chance);
            tally.add(&compare(&group).unwrap(), evening);
        }
        tally
    }

    pub fn add(&mut self, said: &Comparison, evening: &Evening) {
        let truth = |subject| match subject {
            Subject::Baseline => 0.0,
            Subject::Assembly(i) => evening.truth[i],
        };
        for (assembly, truth) in said.assemblies.iter().zip(&evening.truth) {
            if let Some((low, high)) = assembly.loss_percent.and_then(|loss| loss.limits) {
                self.loss.1 += 1;
                let true_loss = -100.0 * libm::expm1(*truth);
                self.loss.0 += usize::from(low <= true_loss && true_loss <= high);
            }
        }
        let against =
            (0..evening.assemblies).filter_map(|i| said.pair(Subject::Assembly(i), Subject::Baseline));
        let mut erred = false;
        for pair in said.pairs().chain(against) {
            let true_difference = truth(pair.a) - truth(pair.b);
            if pair.b != Subject::Baseline
                && let Some((low, high)) = said.alone_percent(&pair)
            {
                self.pair.1 += 1;
                let true_percent = 100.0 * libm::expm1(true_difference);
                self.pair.0 += usize::from(low <= true_percent && true_percent <= high);
            }
            erred |= match pair.verdict {
                Some(Verdict::AMore) => true_difference <= 0.0,
                Some(Verdict::BMore) => true_difference >= 0.0,
                _ => false,
            };
        }
        self.false_resolved += usize::from(erred);
    }

    pub fn loss_percent(&self) -> f64 {
        100.0 * self.loss.0 as f64 / self.loss.1 as f64
    }

    pub fn pair_percent(&self) -> f64 {
        100.0 * self.pair.0 as f64 / self.pair.1 as f64
    }

    pub fn false_percent(&self) -> f64 {
        100.0 * self.false_resolved as f64 / self.sessions as f64
    }

    /// One binomial standard error of a share `p` percent over the sessions.
    /// Intervals of one session share its scatter and its baselines, so that
    /// the session and not the interval is what counts.
    pub fn standard_error(&self, p: f64) -> f64 {
        (p * (100.0 - p) / self.sessions as f64).sqrt()
    }

    /// Holds the 95 % intervals to 93.5 … 96.5 %, widened by one standard
    /// error of this many sessions.
    pub fn covers(&self, what: &str) -> &Self {
        self.show(what);
        self.within(what, "losses", self.loss_percent(), 93.5, 96.5);
        self.within(what, "pairs", self.pair_percent(), 93.5, 96.5)
    }

    pub fn within(&self, what: &str, which: &str, percent: f64, low: f64, high: f64) -> &Self {
        let error = self.standard_error(95.0);
        assert!(
            (low - error..=high + error).contains(&percent),
            "{what}: {percent:.2} % of {which} covered, wanted {low} to {high} ± {error:.2}"
        );
        self
    }

    /// Holds sessions with any false *resolved* to 6.5 %, widened likewise.
    pub fn rarely_errs(&self, what: &str) -> &Self {
        let most = 6.5 + self.standard_error(5.0);
        assert!(self.false_percent() <= most, "{what}: {:.2} % of sessions erred", self.false_percent());
        self
    }

    /// Prints the row of the table, for `--nocapture`.
    pub fn show(&self, what: &str) {
        println!(
            "{what}: loss {:.1}, pairs {:.1}, any false resolved {:.1} ({} sessions)",
            self.loss_percent(),
            self.pair_percent(),
            self.false_percent(),
            self.sessions
        );
    }
}
