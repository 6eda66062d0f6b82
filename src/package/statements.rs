//! What a person vouches for or measured on the vehicle: `[[statement]]`, one a thing that a rule asks for.

use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::distinct::Distinct;
use crate::load::reader::{Date, Node, Table};
use crate::units::Amount;

/// What a person vouches for or measured on the vehicle.
#[derive(Clone, Debug)]
pub struct Statement {
    /// What a rule asks for.
    pub item: String,
    /// The answer.
    pub said: Said,
    /// Who.
    pub by: String,
    /// When.
    pub on: Date,
    /// In which paper.
    pub reference: Option<String>,
    /// Its place in the file.
    pub span: Span,
}

/// What a statement says.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// A word.
    Answer(String),
    /// A figure.
    Figure(Amount),
}

/// Reads every statement; two on one item are an error.
pub(super) fn read_statements(tables: Vec<Table<'_>>, log: &Log) -> Vec<Statement> {
    let mut items = Distinct::new("statements", log);
    let read = tables.into_iter().filter_map(read_statement);
    read.filter(|statement| items.is_new(&statement.item, &statement.span)).collect()
}

fn read_statement(mut table: Table<'_>) -> Option<Statement> {
    let log = table.log();
    let span = table.span();
    let item = table.require("item").and_then(|node| node.id());
    if let Some(item) = &item {
        table = table.named(format!("the statement on `{}`", item.text));
    }
    let answer = table.get("answer").map(|node| node.id().map(|answer| Said::Answer(answer.text.to_lowercase())));
    let value = table.get("value").map(|node| read_value(&node).map(Said::Figure));
    let by = table.require("by").and_then(|node| node.text()).map(|text| text.text);
    let on = table.require("on").and_then(|node| node.date());
    let reference = table.get("reference").and_then(|node| node.text()).map(|text| text.text);
    table.finish();
    let said = match (answer, value) {
        (Some(said), None) | (None, Some(said)) => said?,
        _ => {
            let error = Diagnostic::error("no-answer", "a statement says one thing: an `answer` or a `value`");
            log.push(error.at(&span, "").help("answer = \"yes\", or value = \"52 %\""));
            return None;
        }
    };
    let item = item?;
    Some(Statement { item: item.text, said, by: by?, on: on?, reference, span: item.span })
}

/// A figure with its unit; which unit fits is the rule's to say.
fn read_value(node: &Node<'_>) -> Option<Amount> {
    let text = node.text()?;
    match Amount::parse(&text.text) {
        Ok(amount) => Some(amount),
        Err(error) => {
            node.error("bad-figure", error.to_string(), "a figure and its unit, for example \"52 %\" or \"4 in\"");
            None
        }
    }
}
