//! Which of the stations that a scenario describes is meant: its variant and its strategy. The same
//! flags for every command that looks at one station.

use clap::Args;

use crate::show::shell;

/// What is put in force; whatever is absent stays as the scenario has it.
#[derive(Debug, Clone, Default, Args)]
pub struct InForceArgs {
    /// Put another strategy of the scenario in force
    #[arg(long, value_name = "NAME")]
    pub strategy: Option<String>,
    /// Take a variant of the scenario in its place
    #[arg(long, value_name = "NAME")]
    pub variant: Option<String>,
}

impl InForceArgs {
    /// The flags that say the same again.
    #[must_use]
    pub fn again(&self) -> String {
        let mut flags = String::new();
        for (flag, name) in [("variant", &self.variant), ("strategy", &self.strategy)] {
            if let Some(name) = name {
                flags += &shell::flag(flag, name);
            }
        }
        flags
    }
}
