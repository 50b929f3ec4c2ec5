//! Study and report of a run, each done only where what it is computed from changed.

use super::{CLAIMS, said};
use crate::error::StageError;
use crate::outlook_stage::{backtest, forecasts_from, kept_in};
use crate::progress::Progress;
use crate::report_stage::{self, ReportRequest, report};
use crate::study_stage::{
    Asked, ClaimsFile, Entered, degrees_of_store, moved_of_store, refresh_inputs, settings_hash,
    study_asked, study_tables,
};
use cook::Season;
use rows::hash::{Fingerprint, sha256};
use std::path::Path;
use store::stamps::{Inputs, Reason, Stage, Stamps, hash_of, table_inputs};
use store::{Store, Table, TableName};
use study::Lock;
use study::result::InputHash;
use study::result::trial::TrialResult;

/// The stages after the store, each done only where what it is computed from changed.
pub(super) struct Step<'a> {
    pub(super) season: &'a Season,
    pub(super) store: &'a Store,
    pub(super) out: &'a Path,
    pub(super) stamps: Stamps,
    pub(super) progress: &'a dyn Progress,
    pub(super) lines: &'a mut Vec<String>,
    pub(super) redone: Vec<(Stage, Reason)>,
}

impl Step<'_> {
    /// Why a stage must be done; a line says where that is none of its inputs.
    fn why(&mut self, stage: Stage, inputs: &Inputs) -> Option<Reason> {
        let reason = self.stamps.why(stage, inputs);
        match &reason {
            Some(reason) => {
                self.lines.extend(reason.said(stage));
                self.redone.push((stage, reason.clone()));
            }
            None => self.lines.push(format!("{stage}: up to date")),
        }
        reason
    }

    /// Judges the claims; whether anything was written.
    pub(super) fn study(
        &mut self,
        (claims, lock, trials): (&ClaimsFile, Option<&Lock>, Vec<TrialResult>),
        measures: &Table,
        hashes: Vec<InputHash>,
    ) -> Result<bool, StageError> {
        let mut inputs = table_inputs(self.store, &study_tables(&claims.claims));
        inputs.insert("settings".into(), settings_hash(self.season));
        let entered = Entered::read(self.store)?;
        inputs.insert("entries".into(), entered.hash());
        inputs.insert("forecasts".into(), forecasts_from(self.store, self.season)?);
        inputs.insert(CLAIMS.into(), said(&claims.claims));
        if let Some(lock) = lock {
            inputs.insert(super::LOCK.into(), sha256(lock.to_toml()?.as_bytes()));
        }
        if !trials.is_empty() {
            let mut said = Fingerprint::new("trials", Stage::Study.number());
            said.json(&trials);
            inputs.insert("trials".into(), said.finish());
        }
        if self.why(Stage::Study, &inputs).is_none() {
            let study = self.out.join("study.json");
            let refreshed = refresh_inputs(&study, hashes)?;
            if refreshed {
                self.stamps.rewrote(Stage::Study, &study)?;
            }
            return Ok(refreshed);
        }
        self.stamps.open(Stage::Study)?;
        let history = self.store.read_table(TableName::History)?;
        let count = claims.claims.claims.len();
        let moved =
            if count == 0 { Vec::new() } else { moved_of_store(self.store, measures, &history)? };
        let degrees = degrees_of_store(self.store, &claims.claims)?;
        self.progress.begin("study", 1);
        let asked = Asked {
            claims,
            lock,
            measures,
            history: Some(&history),
            degrees: degrees.as_ref(),
            moved: &moved,
            forecasts: Some(backtest(self.store, self.season, true)?),
            trials,
            entered: &entered,
            inputs: hashes,
        };
        let mut summary = study_asked(self.out, self.season, asked)?;
        self.lines.extend(summary.told.iter().cloned());
        summary.files.push(kept_in(self.store));
        self.progress.step("study");
        self.progress.end();
        self.stamps.set(Stage::Study, inputs, &summary.files)?;
        self.lines.push(format!("study: {} judged", counted(count, "claim")));
        Ok(true)
    }

    /// Renders the pages; whether any was written.
    pub(super) fn report(&mut self) -> Result<bool, StageError> {
        let study = self.out.join("study.json");
        let shown = report_stage::TABLES.map(|(name, _)| name);
        let mut inputs = table_inputs(self.store, &shown);
        inputs.insert("study.json".into(), hash_of(&study)?);
        let season = self.season;
        let mut settings = Fingerprint::new("settings of the report", Stage::Report.number());
        settings.json(&(&season.team, &season.time_zone, season.units));
        settings.json(&(&season.scores, season.phases));
        inputs.insert("settings".into(), settings.finish());
        if self.why(Stage::Report, &inputs).is_none() {
            return Ok(false);
        }
        self.stamps.open(Stage::Report)?;
        self.progress.begin("report", 1);
        let summary = report(&ReportRequest {
            store: self.store.root().to_owned(),
            study,
            out: self.out.to_owned(),
            season: self.season.clone(),
            cooks: Vec::new(),
        })?;
        self.progress.step("report");
        self.progress.end();
        self.stamps.set(Stage::Report, inputs, &summary.files)?;
        let pages = match summary.pages.len() - 1 {
            0 if summary.cooks > 0 => {
                format!("a page of each of {} cooks by `cookstudy report --cook`", summary.cooks)
            }
            pages => counted(pages, "cook page"),
        };
        self.lines.push(format!("report: summary, season report, {pages}"));
        Ok(true)
    }
}

fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}
