//! Colour for a terminal, put on afterwards: the words are the same with and without it.

/// Colours the lines that begin with a mark. Words stay, so nothing is lost without colour.
pub(in crate::report) fn colour(text: &str) -> String {
    use anstyle::{AnsiColor, Style};
    let styles = [
        ("X FAIL", AnsiColor::Red.on_default().bold()),
        ("? not shown", AnsiColor::Yellow.on_default()),
        ("? ", AnsiColor::Yellow.on_default()),
        ("~ too close", AnsiColor::Yellow.on_default()),
        ("= excepted", AnsiColor::Cyan.on_default()),
        ("  pass", AnsiColor::Green.on_default()),
    ];
    let title = Style::new().bold();
    let lines: Vec<&str> = text.lines().collect();
    let mut out = String::new();
    for (at, line) in lines.iter().enumerate() {
        let styled = styles.iter().find(|(mark, _)| line.starts_with(mark));
        let heads_section = lines.get(at + 1).is_some_and(|next| !next.is_empty() && next.chars().all(|c| c == '='));
        match styled {
            // The mark alone for a pass; the whole line for what wants attention.
            Some((mark, style)) if *mark == "  pass" => {
                let rest = line.get(mark.len()..).unwrap_or_default();
                out.push_str(&format!("{style}{mark}{style:#}{rest}\n"));
            }
            Some((_, style)) => out.push_str(&format!("{style}{line}{style:#}\n")),
            None if heads_section => out.push_str(&format!("{title}{line}{title:#}\n")),
            None => {
                out.push_str(line);
                out.push('\n');
            }
        }
    }
    out
}
