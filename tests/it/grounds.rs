//! The plan of grounds where nothing states it: returns of avionics and audio on a wrong ground are named all the same.

use loomwright_core::rules;

use crate::{
    mistakes::{Sound, Wiring, Worth, operator},
    samples::{sorrel, teasel},
};

/// The samples without the word that states the plan: it is then derived. 95 of 100 returns are named.
#[test]
fn the_plan_is_found_without_its_title() {
    for (name, mut document) in [("sorrel", sorrel()), ("teasel", teasel())] {
        let block = document.devices.get_mut("gb2").expect("a block");
        block.title = "Ground block".into();
        let sound = Sound::of(name, document);
        let mut mistakes = operator("other ground").mistakes(&Wiring::new(&sound.document));
        mistakes.retain(|it| it.what.contains("terminal:gb2/"));
        assert!(mistakes.len() >= 20, "{name}: {} tried", mistakes.len());
        let named = |it: &&_| sound.judge(it, false).worth == Worth::Named;
        let (named, missed): (Vec<_>, Vec<_>) = mistakes.iter().partition(named);
        let missed: Vec<&String> = missed.iter().map(|it| &it.what).collect();
        assert!(
            named.len() * 100 >= mistakes.len() * 95,
            "{name}: {missed:#?}"
        );
    }
}

#[test]
fn sound_samples_have_no_such_finding() {
    // Nothing in the record of the clock says whether it is avionics.
    for (sound, unsure) in [(sorrel(), &["ck1/-"][..]), (teasel(), &[])] {
        let verdict = rules::check(&sound);
        let rule = "avionics-return-elsewhere";
        assert!(verdict.findings.iter().all(|it| it.rule != rule));
        let not_checked = verdict.not_checked.iter().filter(|it| it.rule == rule);
        let not_checked: Vec<&str> = not_checked.map(|it| it.at.id.as_str()).collect();
        assert_eq!(not_checked, unsure);
    }
}
