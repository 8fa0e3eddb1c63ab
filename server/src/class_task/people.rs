//! Who the ids of the journal are: names, the coach's marks and questions. They are house records,
//! for the journal holds no names; a class task keeps them beside its class and changes them in the
//! same turns.

use std::collections::BTreeMap;

use floorbell_core::class::{Athlete, Class};
use floorbell_core::ids::{AthleteId, ClassId};
use floorbell_core::name::Name;
use floorbell_core::wire::{self, Counted, Fellow, NameShown, OwnView, TabletView};

use super::errand::No;
use crate::store::{Person, Question, Record};

/// People on record in one class at most, in it or expected: as many again as a class holds.
const RECORDS_MAX: usize = 400;

/// The longest question, in characters.
const QUESTION_CHARACTERS_MAX: usize = 280;

/// Questions that one person may have open: enough before a class, and the coach can read them.
const OPEN_QUESTIONS_MAX: usize = 3;

/// Questions in one class at most: two from everyone.
const QUESTIONS_MAX: usize = 400;

/// Names, marks and questions of one class.
#[derive(Clone, Debug)]
pub(crate) struct People {
    class: ClassId,
    records: BTreeMap<AthleteId, Person>,
    /// In the order in which they were put.
    questions: Vec<Question>,
}

impl People {
    pub(crate) fn new(class: ClassId, people: Vec<Person>, questions: Vec<Question>) -> Self {
        let records = people.into_iter().map(|person| (person.athlete, person)).collect();
        Self { class, records, questions }
    }

    pub(crate) fn get(&self, athlete: AthleteId) -> Option<&Person> {
        self.records.get(&athlete)
    }

    /// Adds somebody. Where somebody has that name already, a number tells them apart.
    pub(crate) fn add(
        &mut self,
        athlete: AthleteId,
        name: Name,
        at_home: bool,
    ) -> Result<Record, No> {
        if self.records.len() >= RECORDS_MAX {
            return Err(No::new("full", "The class has as many people on record as it can keep."));
        }
        let person = Person {
            athlete,
            class: self.class,
            name: self.told_apart(name),
            shown: NameShown::default(),
            at_home,
            first_class: false,
            told_me: false,
        };
        self.records.insert(athlete, person.clone());
        Ok(Record::Person(person))
    }

    fn told_apart(&self, name: Name) -> Name {
        let taken = |name: &Name| self.records.values().any(|it| it.name.reads_like(name));
        if !taken(&name) {
            return name;
        }
        // There are more numbers than people: one of them is free.
        let free =
            (2..=RECORDS_MAX + 1).map(|number| name.numbered(number)).find(|name| !taken(name));
        free.unwrap_or(name)
    }

    /// Changes what is on record of somebody.
    pub(crate) fn change(
        &mut self,
        athlete: AthleteId,
        change: impl FnOnce(&mut Person),
    ) -> Result<Record, No> {
        let person = self.records.get_mut(&athlete).ok_or_else(No::nobody)?;
        change(person);
        Ok(Record::Person(person.clone()))
    }

    /// Erases somebody.
    pub(crate) fn erase(&mut self, athlete: AthleteId) -> Record {
        self.records.remove(&athlete);
        self.questions.retain(|question| question.athlete != athlete);
        Record::ErasePerson(athlete)
    }

    /// Puts a question to the coach.
    pub(crate) fn ask(&mut self, athlete: AthleteId, text: &str) -> Result<Record, No> {
        let text = text.trim();
        if text.is_empty() || text.chars().nth(QUESTION_CHARACTERS_MAX).is_some() {
            return Err(No::new(
                "question-length",
                format!("A question has up to {QUESTION_CHARACTERS_MAX} characters: shorten it."),
            ));
        }
        if self.open_questions(athlete).count() >= OPEN_QUESTIONS_MAX {
            return Err(No::new(
                "questions-open",
                "The coach has not come to your other questions yet: ask on the floor.",
            ));
        }
        let number = self.questions.last().map_or(1, |last| last.number + 1);
        if self.questions.len() >= QUESTIONS_MAX {
            return Err(No::new("full", "There are too many questions: ask on the floor."));
        }
        let question =
            Question { class: self.class, number, athlete, text: text.to_owned(), answered: false };
        self.questions.push(question.clone());
        Ok(Record::Question(question))
    }

    /// Notes that the coach has dealt with a question. Says whose it was.
    pub(crate) fn answered(&mut self, number: u32) -> Result<(AthleteId, Record), No> {
        let question = self
            .questions
            .iter_mut()
            .find(|question| question.number == number)
            .ok_or_else(|| No::new("no-such-question", "There is no such question."))?;
        question.answered = true;
        Ok((question.athlete, Record::Question(question.clone())))
    }

    fn open_questions(&self, athlete: AthleteId) -> impl Iterator<Item = &Question> {
        self.questions
            .iter()
            .filter(move |question| question.athlete == athlete && !question.answered)
    }

    /// What the wall shows of somebody's name.
    pub(crate) fn shown(&self, athlete: AthleteId) -> String {
        let Some(person) = self.records.get(&athlete) else { return String::new() };
        match person.shown {
            NameShown::Whole => person.name.to_string(),
            NameShown::Initial => person.name.initial().to_owned(),
            NameShown::Nothing => String::new(),
        }
    }

    /// Everyone whom the coach sees: who is in the class, in the order in which they came, then who
    /// is expected, by name.
    pub(crate) fn order(&self, class: &Class) -> Vec<AthleteId> {
        let here = class.people().map(|(athlete, _)| athlete);
        here.chain(self.expected(class).into_iter().map(|(athlete, _)| athlete)).collect()
    }

    /// Who is expected, by name.
    pub(crate) fn expected(&self, class: &Class) -> Vec<(AthleteId, Name)> {
        let mut expected: Vec<_> = self
            .records
            .values()
            .filter(|person| class.athlete(person.athlete).is_none())
            .map(|person| (person.athlete, person.name.clone()))
            .collect();
        expected.sort_by(|(a, name), (b, other)| (name, a).cmp(&(other, b)));
        expected
    }

    /// A person as the coach sees them, but for when their phone was heard.
    pub(crate) fn person(&self, class: &Class, athlete: AthleteId) -> wire::Person {
        let here = class.athlete(athlete);
        let record = self.records.get(&athlete);
        wire::Person {
            athlete,
            name: record.map(|person| person.name.to_string()).unwrap_or_default(),
            here: here.is_some(),
            at_home: here
                .map_or_else(|| record.is_some_and(|person| person.at_home), |it| it.at_home),
            first_class: record.is_some_and(|person| person.first_class),
            told_me: record.is_some_and(|person| person.told_me),
            choice: here.map(|it| it.choice.clone()).unwrap_or_default(),
            heard: None,
            team: class.team_of(athlete).map(|(team, _)| team),
            counter: here.and_then(Athlete::counter),
            windows: class.windows(athlete),
        }
    }

    /// A person as they see themselves.
    pub(crate) fn own(&self, class: &Class, person: &wire::Person) -> OwnView {
        let team = class.team_of(person.athlete).map_or(&[][..], |(_, team)| team);
        OwnView {
            athlete: person.athlete,
            name: person.name.clone(),
            shown: self.records.get(&person.athlete).map(|record| record.shown).unwrap_or_default(),
            choice: person.choice.clone(),
            windows: person.windows.clone(),
            counter: person.counter.map(|counter| self.fellow(counter)),
            counts_for: class
                .counted_by(person.athlete)
                .filter_map(|athlete| self.counted(class, athlete))
                .collect(),
            team: team.iter().map(|&member| self.fellow(member)).collect(),
            questions: self.open_questions(person.athlete).map(|it| it.text.clone()).collect(),
        }
    }

    /// What a tally tablet is shown of those whom it counts for.
    pub(crate) fn tablet(&self, class: &Class, athletes: &[AthleteId]) -> TabletView {
        TabletView { lines: athletes.iter().filter_map(|id| self.counted(class, *id)).collect() }
    }

    /// Somebody as those are shown them who count for them.
    fn counted(&self, class: &Class, athlete: AthleteId) -> Option<Counted> {
        let choice = class.athlete(athlete)?.choice.clone();
        Some(Counted { who: self.fellow(athlete), choice, windows: class.windows(athlete) })
    }

    fn fellow(&self, athlete: AthleteId) -> Fellow {
        let name = self.records.get(&athlete).map(|person| person.name.to_string());
        Fellow { athlete, name: name.unwrap_or_default() }
    }

    /// Questions that the coach has not dealt with.
    pub(crate) fn questions(&self) -> Vec<wire::Question> {
        self.questions
            .iter()
            .filter(|question| !question.answered)
            .map(|question| wire::Question {
                number: question.number,
                athlete: question.athlete,
                text: question.text.clone(),
            })
            .collect()
    }
}
