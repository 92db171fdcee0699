//! What is read from tables, a text a case.

use super::*;

/// Reads `source` and compares what was found, a line for each row and problem: cells as `column=text`, ranges
/// with `…`, problems with `!` and the text of their place.
fn check(source: &str, columns: &[(Column, &str)], expected: &str) {
    let place = Place { file: FileId(9), start: 0, end: 0 };
    let columns: Vec<_> =
        columns.iter().map(|(column, word)| (*column, Spanned::new((*word).to_owned(), place))).collect();
    let (table, problems) = Table::read(source, FileId(1), &columns, &Limits::default());
    let mut found = String::new();
    for row in table.all(source) {
        found += if row.spans.is_range { "… " } else { "" };
        for column in Column::ALL {
            let Some(cell) = row.cell(column) else { continue };
            let slice = &source[cell.place.start as usize..cell.place.end as usize];
            let in_parts = column == Column::Address && !slice.contains('/');
            assert!(
                slice == cell.value || slice.contains("\"\"") || in_parts,
                "{slice} is not {}",
                cell.value
            );
            found += &format!("{}={} ", column.key(), cell.value.replace('\n', "⏎"));
        }
        found = found.trim_end().to_owned() + "\n";
    }
    for problem in problems {
        let place = problem.place();
        let slice =
            if place.file == FileId(9) { "" } else { &source[place.start as usize..place.end as usize] };
        let what = format!("{problem:?}");
        let what = what.split([' ', '{', '(']).next().unwrap_or("").to_owned();
        let fault = if let Problem::BrokenRow { fault, .. } = problem {
            format!(" {fault:?}")
        } else {
            String::new()
        };
        let slice: String = slice.replace('\n', "⏎").chars().take(40).collect();
        found += &(format!("! {what}{fault} {slice}").trim_end().to_owned() + "\n");
    }
    let expected: String = expected
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .map(|line| format!("{line}\n"))
        .collect();
    assert_eq!(found, expected, "from\n{source}");
}

#[test]
fn delimiters_are_found_out() {
    for mark in [',', ';', '\t', '|'] {
        let text =
            "Address|Name|Datapoint type\r\n1/2/3|Lamp, left; \\t|DPST-1-1\r\n1/2/4|\"Lamp\"|1.001\r\n";
        let text = text.replace("Lamp, left; \\t", "Lamp").replace('|', &mark.to_string());
        check(&text, &[], "address=1/2/3 name=Lamp dpt=DPST-1-1\naddress=1/2/4 name=Lamp dpt=1.001");
    }
    // The other marks within cells do not mislead.
    check(
        "Name;Adresse;Beschreibung\na,b,c,d,e;1/2/3;f,g,h,i\na,b,c,d,e;1/2/4;f,g,h,i\n",
        &[],
        "address=1/2/3 name=a,b,c,d,e description=f,g,h,i\naddress=1/2/4 name=a,b,c,d,e description=f,g,h,i",
    );
}

#[test]
fn headings_in_both_languages_and_of_the_house() {
    check(
        "Gruppenadresse;Bezeichnung;Datenpunkttyp;Raum;Flags;Bemerkung\n0/0/1;Licht;1.001;Küche;CRT;x\n",
        &[],
        "address=0/0/1 name=Licht dpt=1.001 description=x flags=CRT room=Küche",
    );
    check(
        "No,Wire,What it does\n1,0/0/1,Lamp\n",
        &[(Column::Address, "wire"), (Column::Name, "What it does")],
        "address=0/0/1 name=Lamp",
    );
    // Where the words do not help, the looks do.
    check("No,Wire,Comment\n1,0/0/1,x\n", &[], "address=0/0/1 description=x\n! NoNames Wire");
    check("No,Wire\nx,0/0/1\n", &[(Column::Address, "Cable")], "address=0/0/1 name=x\n! MissingHeading");
}

#[test]
fn flags_are_known_by_what_they_are() {
    let (address, rows) =
        ("1/1/1,Lampe", "address=1/1/1 name=Lampe flags=CRT\naddress=1/1/2 name=Spot flags=CW");
    for heading in ["Vlaggen", "Příznaky", "Kommunikation", "Objects", ""] {
        check(&format!("Adresse,Nom,{heading}\n{address},CRT\n1/1/2,Spot,CW\n"), &[], rows);
    }
    check(&format!("{address},CRT\n1/1/2,Spot,CW\n"), &[], rows);
    check("GA,Text,?\n1/1/1,Licht,KL-Ü-\n", &[], "address=1/1/1 name=Licht flags=KL-Ü-");
    // Short words of the same letters are none.
    check(
        "GA,Text,?\n1/1/1,Licht,WC\n1/1/2,Spot,C\n",
        &[],
        "address=1/1/1 name=Licht\naddress=1/1/2 name=Spot",
    );
    check("GA,Text,?\n1/1/1,Licht,RT\n", &[], "address=1/1/1 name=Licht");
}

#[test]
fn disorder_is_read_around() {
    check(
        "Heron Wharf, addresses of the bus\n\nAddress,Name\n1/-/-,Lights\n1/1/-,Switching\n1/1/1,Hall\n\n\
         ,Ground floor\nAddress,Name\n1/1/2,\n1/1/3,Lamp,left\nTotal:,3\n,,\n",
        &[],
        "… address=1/-/- name=Lights
         … address=1/1/- name=Switching
         address=1/1/1 name=Hall
         address=1/1/2
         address=1/1/3 name=Lamp
         address=Total: name=3
         ! BrokenRow NoAddress ,Ground floor
         ! RepeatedHeading Address,Name
         ! BrokenRow TooManyCells 1/1/3,Lamp,left",
    );
}

#[test]
fn quotation_marks() {
    check(
        "Address;Name\n1/1/1;\"a \"\"b\"\" c\"\n1/1/2;\" two; lines\nhere \"\n1/1/3;12\" pipe\n1/1/4;\"open\n1/1/5;\"x\"\n",
        &[],
        "address=1/1/1 name=a \"b\" c
         address=1/1/2 name=two; lines⏎here
         address=1/1/3 name=12\" pipe
         address=1/1/4 name=\"open
         address=1/1/5 name=x
         ! BrokenRow UnclosedQuote 1/1/4;\"open",
    );
}

#[test]
fn without_a_heading_the_looks_decide() {
    check(
        "\u{feff}Lamp,1/1/1,x\nOther lamp,1/1/2,y\n",
        &[],
        "address=1/1/1 name=Lamp\naddress=1/1/2 name=Other lamp",
    );
    check("a,b\nc,d\n", &[], "! NoHeading a,b");
    check("", &[], "! NoHeading");
}

#[test]
fn long_rows_cost_only_themselves() {
    let text =
        format!("Address,Name\n1/1/1,{}\n1/1/2,\"{}\"\n1/1/3,x\n", "y".repeat(40_000), "z".repeat(40_000));
    let (table, problems) = Table::read(&text, FileId(0), &[], &Limits::default());
    let rows: Vec<_> = table.rows(&text).map(|row| row.cell(Column::Address).unwrap().value).collect();
    assert_eq!(rows, ["1/1/1", "1/1/2", "1/1/3"]);
    assert_eq!(problems.len(), 2, "{problems:?}");
}

#[test]
fn names_are_known_by_headings_of_other_languages_and_by_what_they_are() {
    check(
        "Désignation;Adresse;Type de données;Remarque\nLampe;1/1/1;DPST-1-1;\nVolet;1/1/2;DPST-1-8;\n",
        &[],
        "address=1/1/1 name=Lampe dpt=DPST-1-1\naddress=1/1/2 name=Volet dpt=DPST-1-8",
    );
    check(
        "Was;Adresse;Typ der Daten;Gewerk\nLampe;1/1/1;1.001;Licht\nDecke;1/1/2;1.001;Licht\n",
        &[],
        "address=1/1/1 name=Lampe dpt=1.001\naddress=1/1/2 name=Decke dpt=1.001",
    );
    // A description is none, and of two columns that may be it neither is.
    check(
        "Adresse;Bemerkung;Leistung\n1/1/1;Lampe;1.500\n1/1/2;Decke;2.250\n",
        &[],
        "address=1/1/1 description=Lampe\naddress=1/1/2 description=Decke\n! NoNames Adresse",
    );
    check(
        "Adresse;Was;Wo\n1/1/1;Lampe;Flur\n1/1/2;Decke;Diele\n",
        &[],
        "address=1/1/1\naddress=1/1/2\n! NoNames Adresse",
    );
    check(
        "Adresse;Was;Wo\n1/1/1;Lampe;Flur\n1/1/2;Decke;Diele\n",
        &[(Column::Name, "Wo")],
        "address=1/1/1 name=Flur\naddress=1/1/2 name=Diele",
    );
}

#[test]
fn names_of_groups_stand_in_columns_of_their_own() {
    let expected = "… address=1/-/- name=Light
         … address=1/0/- name=Switch
         address=1/0/1 name=Hall lamp";
    check("Main;Middle;Sub;Address\nLight;;;1/-/-\n;Switch;;1/0/-\n;;Hall lamp;1/0/1\n", &[], expected);
    check("Main,Middle,Sub,Main,Middle,Sub\nLight,,,1,,\n,Switch,,1,0,\n,,Hall lamp,1,0,1\n", &[], expected);
    check(
        "Main;Middle;Sub;Address\nLight;Switch;Hall lamp;1/0/1\nLight;Switch;Hall spot;1/0/2\n",
        &[],
        "address=1/0/1 name=Hall lamp\naddress=1/0/2 name=Hall spot",
    );
}

#[test]
fn addresses_may_stand_in_columns_of_numbers() {
    check(
        "HG;MG;UG;Name\n1;0;1;Lamp\n1;0;2;Spot\nHG;MG;UG;Name\n2;-;-;Blinds\n2;1;;Move\n2;1;40;Blind\n;;;x\n",
        &[],
        "address=1/0/1 name=Lamp
         address=1/0/2 name=Spot
         … address=2/-/- name=Blinds
         … address=2/1/- name=Move
         address=2/1/40 name=Blind
         ! RepeatedHeading HG;MG;UG;Name
         ! BrokenRow NoAddress ;;;x",
    );
    // What stands above counts for an empty cell, until another main group begins.
    check(
        "HG;MG;UG;Name\n1;0;1;Lamp\n;;2;Spot\n;4;1;Status\n2;;3;Blind\n",
        &[],
        "address=1/0/1 name=Lamp
         address=1/0/2 name=Spot
         address=1/4/1 name=Status
         address=2//3 name=Blind",
    );
    check("Main group,Sub group,Name\n1,515,Lamp\n", &[], "address=1/515 name=Lamp");
    // Names alone are no addresses.
    check("Main;Middle;Sub\nLight;Switch;Lamp\n", &[], "! NoHeading Main;Middle;Sub");
}

#[test]
fn comments_are_left_out() {
    check(
        "#;Address;Name\n1;1/1/1;Lamp\n# the garden;;\n#1/1/2;;\n#2;1/1/3;Spot\n",
        &[],
        "address=1/1/1 name=Lamp\naddress=1/1/3 name=Spot",
    );
}

#[test]
fn many_rows_of_one_fault_are_told_once() {
    let text = format!("Address,Name\n{}1/1/1,Lamp\n", ",Ground floor\n".repeat(4));
    let (_, problems) = Table::read(&text, FileId(0), &[], &Limits::default());
    assert!(matches!(problems.as_slice(), [Problem::BrokenRow { count: 4, .. }]), "{problems:?}");
}

#[test]
fn a_heading_may_be_separated_otherwise_than_its_rows() {
    for (heading, row) in [(',', ';'), (';', ','), ('\t', ';'), (',', '|')] {
        let text = format!(
            "{}\n{}",
            "Address?Name?DPT".replace('?', &heading.to_string()),
            "1/1/-?Lights?\n1/1/1?Lamp?1.001\n1/1/2?Spot?1.001\n".replace('?', &row.to_string())
        );
        let heading = text.lines().next().unwrap_or_default();
        check(
            &text,
            &[],
            &format!(
                "… address=1/1/- name=Lights
                 address=1/1/1 name=Lamp dpt=1.001
                 address=1/1/2 name=Spot dpt=1.001
                 ! MixedDelimiters {heading}"
            ),
        );
    }
}

#[test]
fn addresses_are_read_where_they_stand() {
    check(
        "Name;Address;DPT\n1/1/1;Lamp;1.001\n1/1/2;Spot;1.001\nName;Address;DPT\n1/1/3;Sconce;1.001\n",
        &[],
        "address=1/1/1 name=Lamp dpt=1.001
         address=1/1/2 name=Spot dpt=1.001
         address=1/1/3 name=Sconce dpt=1.001
         ! AddressesElsewhere Name
         ! RepeatedHeading Name;Address;DPT",
    );
    check(
        "DPT;Address\n1/1/1;Lamp\n1/1/2;Spot\n",
        &[],
        "address=1/1/1 name=Lamp\naddress=1/1/2 name=Spot\n! AddressesElsewhere DPT",
    );
    let right = [(Column::Address, "DPT"), (Column::Name, "Address")];
    check("DPT;Address\n1/1/1;Lamp\n", &right, "address=1/1/1 name=Lamp");
    // What a spreadsheet made of addresses are addresses no less.
    check(
        "Address;Before\n=1/1/1;2/1/1\n=1/1/2;2/1/2\n",
        &[(Column::Name, "Before")],
        "address==1/1/1 name=2/1/1\naddress==1/1/2 name=2/1/2",
    );
}

#[test]
fn columns_of_numbers_are_known_in_many_languages() {
    for heading in ["Hoofdgroep;Middengroep;Subgroep", "Groupe principal;Groupe médian;Sous-groupe"] {
        check(&format!("{heading};Name\n1;2;3;Lamp\n"), &[], "address=1/2/3 name=Lamp");
    }
}

#[test]
fn addresses_of_devices_are_none_of_groups() {
    let rows = "1.1.4;0/0/1;Lamp\n1.1.4;0/0/2;Spot\n1.1.4;0/0/3;Sconce\n1.1.5;0/0/4;Lantern\n";
    let read = "address=0/0/1 name=Lamp\naddress=0/0/2 name=Spot\naddress=0/0/3 name=Sconce\naddress=0/0/4 name=Lantern";
    check(&format!("Address;Address;Name\n{rows}"), &[], read);
    check(&format!("Adresse;Gruppe;Name\n{rows}"), &[], read);
    check(&format!("Address;Wire;Name\n{rows}"), &[], &format!("{read}\n! AddressesElsewhere Wire"));
    // Addresses of groups with dots, beside others.
    check(
        "Address;Old;Name\n1.1.4;0/0/1;Lamp\n1.1.5;0/0/2;Spot\n",
        &[],
        "address=1.1.4 name=Lamp\naddress=1.1.5 name=Spot",
    );
}

#[test]
fn of_two_columns_of_addresses_one_is_read_and_told() {
    let rows = "9/1/1;1/1/1;Lamp\n9/1/2;1/1/2;Spot\n9/1/3;1/1/3;Sconce\n";
    let read =
        "address=9/1/1 name=Lamp\naddress=9/1/2 name=Spot\naddress=9/1/3 name=Sconce\n! AddressesTwice";
    check(&format!("Wire alt;Wire neu;Name\n{rows}"), &[], &format!("{read} Wire alt"));
    check(rows, &[], &format!("{read} 9/1/1"));
    check(&format!("Address;Address;Name\n{rows}"), &[], &format!("{read} Address"));
    let new = [(Column::Address, "Wire neu")];
    check(
        &format!("Wire alt;Wire neu;Name\n{rows}"),
        &new,
        "address=1/1/1 name=Lamp\naddress=1/1/2 name=Spot\naddress=1/1/3 name=Sconce",
    );
    // Days and pages look like addresses, and do not differ as these do.
    let read = "address=0/1/1 name=Lamp\naddress=0/1/2 name=Spot\naddress=0/1/3 name=Sconce";
    check("1/2/2025;0/1/1;Lamp\n2/3/2025;0/1/2;Spot\n3/4/2025;0/1/3;Sconce\n", &[], read);
    check("1/9;0/1/1;Lamp\n1/9;0/1/2;Spot\n2/9;0/1/3;Sconce\n", &[], read);
    let (table, _) = Table::read(&format!("Address;Status;Name\n{rows}"), FileId(1), &[], &Limits::default());
    let [status] = table.other_addresses() else { panic!("{:?}", table.other_addresses()) };
    assert_eq!((&*status.heading, status.first.len()), ("Status", 4));
}

#[test]
fn the_kind_of_a_row_is_no_type() {
    check(
        "Address;Name;Type;Point\n1/1/1;Lamp;command;DPST-1-1\n1/4/1;Lamp;status;DPST-1-11\n",
        &[],
        "address=1/1/1 name=Lamp dpt=DPST-1-1\naddress=1/4/1 name=Lamp dpt=DPST-1-11",
    );
    check("Address;Name;Type\n1/1/1;Lamp;switch\n", &[], "address=1/1/1 name=Lamp dpt=switch");
}

#[test]
fn quotation_marks_behind_blanks_are_none_of_the_text() {
    check(
        "Address, \"Name\", \"DPT\"\n\"1/1/1\", \"Lamp\", \"1.001\"\n1/1/2, \"a \"\"b\"\"\", \"\"\n",
        &[],
        "address=1/1/1 name=Lamp dpt=1.001\naddress=1/1/2 name=\"a \"\"b\"\"\"",
    );
}

#[test]
fn of_two_columns_of_names_the_one_with_names_is_read() {
    check(
        "Address;Name;Label\n1/1/1;;Lamp\n1/1/2;;Spot\n",
        &[],
        "address=1/1/1 name=Lamp\naddress=1/1/2 name=Spot",
    );
    check("Address;Name;Label\n1/1/1;Lamp;\n1/1/2;;\n", &[], "address=1/1/1 name=Lamp\naddress=1/1/2");
    let better = |text: &str, columns: &[(Column, Spanned<String>)]| {
        let (table, _) = Table::read(text, FileId(1), columns, &Limits::default());
        table.better_names().map(str::to_owned)
    };
    let place = Place { file: FileId(9), start: 0, end: 0 };
    let remark = [(Column::Name, Spanned::new("Remark".to_owned(), place))];
    let text = "Address;Name;Remark\n1/1/1;Lamp;x\n1/1/2;Spot;\n";
    assert_eq!(better(text, &remark).as_deref(), Some("Name"));
    assert_eq!(better(text, &[]), None);
}

#[test]
fn names_of_which_few_differ_are_told_where_others_do() {
    let rows: String =
        (0..12u8).map(|row| format!("1/1/{row};Hall;Lamp {};\n", "x".repeat(row.into()))).collect();
    let told = |heading: &str, columns: &[(Column, Spanned<String>)]| {
        let text = format!("{heading}\n{rows}");
        let (_, problems) = Table::read(&text, FileId(1), columns, &Limits::default());
        problems
            .iter()
            .map(|problem| format!("{problem:?}").split(' ').next().map(str::to_owned))
            .collect::<Vec<_>>()
    };
    let place = Place { file: FileId(9), start: 0, end: 0 };
    let name = [(Column::Name, Spanned::new("Name".to_owned(), place))];
    assert_eq!(told("Address;Name;Name 2;x", &[]), [Some("PoorNames".to_owned())]);
    assert_eq!(told("Address;Name;Name 2;x", &name), []);
    assert_eq!(told("Address;Comment;Name;x", &[]), []);
}

#[test]
fn what_the_house_names_besides_the_addresses_does_not_find_them() {
    check("a,b\nc,d\n", &[(Column::Name, "b")], "! NoHeading a,b");
    check("a,b\nc,d\n", &[(Column::Address, "x"), (Column::Name, "b")], "! MissingHeading");
    check("a,b\n\"c,d\n", &[], "! NoHeading a,b");
}
