//! Remarks that may speak of the lamp: what they leave open is `?` only where they say so, everything else that they may mean
//! is told and loses nothing; what is denied is no doubt. Each case is a remark and what has to come of it.

mod common;

use common::sheets::{as_proposed, confirmed};

const HEAD: &str = "id,model,behind front (in),right (in),height (in),faces,notes\n";

/// What is `?`, and of what is asked without it.
fn said(note: &str) -> (String, String) {
    let all = as_proposed(format!("{HEAD}L1,X,10,-20,40,front,\"{note}\"\n").as_bytes(), "sheet.csv");
    let open = all.lamps[0].cells.iter().filter(|(_, text)| *text == "?").map(|(name, _)| *name);
    let asked = all.asked.iter().map(|one| one.what);
    (open.collect::<Vec<_>>().join(" "), asked.collect::<Vec<_>>().join(" "))
}

#[test]
fn a_remark_takes_the_model_only_where_it_says_that_the_lamp_is_not_there() {
    for (note, open, asked) in [
        ("DELETED per change order 2", "model", ""),
        ("Rear lamp. Deleted per change order 2", "model", ""),
        ("upper unit, omitted per note 4", "model", ""),
        ("removed 3/12", "model", ""),
        ("VOID", "model", ""),
        ("spare", "model", ""),
        ("spare lamp", "model", ""),
        ("spare, in the cabinet", "model", ""),
        ("to be deleted", "model", ""),
        ("lamp was removed", "model", ""),
        ("this light has been removed", "model", ""),
        ("not fitted", "model", ""),
        ("Lamp not fitted", "model", ""),
        ("not installed yet", "model", ""),
        ("not yet fitted", "model", ""),
        ("no longer fitted", "model", ""),
        ("amber; cancelled", "model", ""),
        // These speak of something else, or may.
        ("removed gasket, resealed", "", "model"),
        ("spare connector at rear", "", "model"),
        ("void filled with foam", "", "model"),
        ("remove cover to aim", "", "model"),
        ("replaces omitted reflector", "", "model"),
        ("gasket removed", "", "model"),
        ("cover not fitted", "", "model"),
        ("not sure whether removed", "", "model"),
        ("not yet removed", "", "model"),
        ("not mounted flush", "", "model"),
        // Denied, or of a wheel.
        ("not removed", "", ""),
        ("do not remove gasket", "", ""),
        ("don't remove", "", ""),
        ("must not be omitted", "", ""),
        ("no spare", "", ""),
        ("beside the spare wheel", "", ""),
        ("see drawing", "", ""),
    ] {
        assert_eq!(said(note), (open.to_owned(), asked.to_owned()), "{note}");
    }
}

#[test]
fn a_lamp_leans_by_a_remark_that_names_a_wedge_or_degrees() {
    for (note, open, asked) in [
        ("wedge 4 deg", "wedge", ""),
        ("with a wedge", "wedge", ""),
        ("shimmed", "wedge", ""),
        ("tilted 5 deg", "tilt", ""),
        ("angled 10°", "tilt", ""),
        ("no shim", "", ""),
        ("without wedge", "", ""),
        ("w/o wedge or shim", "", ""),
        ("shim not required", "", ""),
        ("wedge is not used", "", ""),
        ("not tilted", "", ""),
        ("angled bracket supplied", "", "tilt"),
        ("on the sloped hood", "", "tilt"),
        ("angled bracket, 4 bolts", "", "tilt"),
    ] {
        assert_eq!(said(note), (open.to_owned(), asked.to_owned()), "{note}");
    }
}

#[test]
fn a_remark_makes_no_other_lamp_of_it_unless_it_speaks_of_lamps() {
    for (note, open, asked) in [
        ("scene light", "role", ""),
        ("turn signal", "role", ""),
        ("also used as reverse light", "role", ""),
        ("stop/tail/turn", "role", ""),
        ("scene", "role", ""),
        ("amber; backup", "role", ""),
        ("see turn radius note", "", "role"),
        ("mounted one step above tail board", "", "role"),
        ("beside the compartment", "", "role"),
        ("install before work lamp", "", "role"),
        ("not a scene light", "", ""),
    ] {
        assert_eq!(said(note), (open.to_owned(), asked.to_owned()), "{note}");
    }
}

#[test]
fn what_is_asked_stays_open_until_the_mapping_settles_it() {
    let sheet = format!("{HEAD}L1,X,10,-20,40,front,\"removed gasket, resealed\"\n");
    let vehicle = [
        ("name = \"\"", "name = \"Case\""),
        ("length = \"\"", "length = \"230 in\""),
        ("width = \"\"", "width = \"80 in\""),
        ("height = \"\"", "height = \"70 in\""),
    ];
    let sheet = sheet.replace("id,", "colour,id,").replace("L1,", "red,L1,");
    let (dir, text, status) = confirmed("sheet.csv", sheet.as_bytes(), &vehicle, &[]);
    assert_eq!(status, 3, "{text}");
    let (_, below) = text.split_once("Not sure, though nothing is `?` for it:").unwrap_or_else(|| panic!("{text}"));
    assert!(below.contains("`removed`: is the lamp there?") && below.contains("[[reads]]"), "{text}");
    let heads = std::fs::read_to_string(dir.path().join("out/heads.csv")).unwrap();
    assert!(heads.contains("\nL1,X,10 in,-20 in,40 in,front") && !heads.contains("# ? model"), "{heads}");
    let reads = "[[reads]]\ncolumn = \"notes\"\nsays = \"removed gasket, resealed\"\nas = \"new gasket\"\n\n[[sheet]]";
    let change = [&vehicle[..], &[("[[sheet]]", reads)]].concat();
    let (_dir, text, status) = confirmed("sheet.csv", sheet.as_bytes(), &change, &[]);
    assert!(status == 0 && !text.contains("Not sure"), "{text}");
}
