//! The log, on standard error: what was asked, what was refused and why, what changed. Never a key, a code or a record.

use tracing_subscriber::filter::{LevelFilter, Targets};
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;

/// Starts the log. `AIRSHELF_LOG` says how much: `warn`, `info` (without it), `debug`, or `target=level,…`.
pub fn to_stderr() {
    let asked = std::env::var("AIRSHELF_LOG").ok().and_then(|text| text.parse::<Targets>().ok());
    let filter = asked.unwrap_or_else(|| Targets::new().with_default(LevelFilter::INFO));
    let plain =
        std::env::var_os("NO_COLOR").is_some() || !std::io::IsTerminal::is_terminal(&std::io::stderr());
    let lines = tracing_subscriber::fmt::layer().with_writer(std::io::stderr).with_ansi(!plain);
    let _ = tracing_subscriber::registry().with(filter).with(lines).try_init();
}
