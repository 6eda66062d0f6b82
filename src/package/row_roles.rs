//! What a row of a display lights heads for, where leaving it unsaid would keep the rules from judging them: arrows
//! whose way is not said, and headlamps that flash.

use super::{Head, Role};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::Text;

/// Whether a display says which way its arrow points.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Points {
    /// It does, rightly or wrongly.
    Somewhere,
    /// It does not, so it must light no arrow.
    Nowhere,
}

/// What the heads of a row are there for, where leaving it unsaid would keep rules from judging them.
pub(super) struct RowRoles<'r> {
    /// What the row says; else each head's own role holds. Neither where the word is wrong.
    pub role: Option<Option<Role>>,
    pub heads: Vec<&'r Head>,
    pub span: &'r Span,
    pub log: &'r Log,
}

impl RowRoles<'_> {
    /// An arrow whose way is not said is judged by no rule on arrows.
    pub fn no_unsaid_arrow(&self, points: Points) {
        let is_arrow =
            |head: &&&Head| self.role == Some(Some(Role::Arrow)) || (self.role.is_none() && head.role == Role::Arrow);
        let Some(head) = self.heads.iter().find(is_arrow).filter(|_| points == Points::Nowhere) else { return };
        let message =
            format!("`{}` is lit as part of an arrow, and the display does not say which way it points", head.id);
        let error = Diagnostic::error("arrow-without-way", message).at(self.span, "this row");
        let help = "write `arrow = \"left\"` (or \"right\", \"split\", \"caution\") beside the `when` of the display; \
                    if it is no arrow, give the row another `role`";
        self.log.push(error.help(help));
    }

    /// A headlamp that flashes without being called a flasher is judged by no rule on flashers.
    pub fn no_unsaid_flasher(&self, pattern: &Text) {
        let is_beam = |role: Role| matches!(role, Role::UpperBeam | Role::Headlamp);
        let unsaid = |head: &&&Head| match self.role {
            // A lamp may hold a turn signal too.
            Some(None | Some(Role::HeadlampFlasher | Role::Turn)) => false,
            Some(Some(role)) => is_beam(role) || is_beam(head.role),
            None => is_beam(head.role),
        };
        let Some(head) = self.heads.iter().find(unsaid) else { return };
        let message = format!("the headlamp `{}` is made to flash, and the row does not say so", head.id);
        let error = Diagnostic::error("flasher-unsaid", message).at(&pattern.span, "this pattern is not steady");
        let help = "write `role = \"headlamp-flasher\"` in this row, so that the rules on flashing headlamps judge it";
        self.log.push(error.help(help));
    }
}
