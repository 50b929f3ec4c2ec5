//! Answers against values worked out by hand.

use columns::{Column, Table, table};
use proptest::prelude::*;
use query::{Answer, QueryError, Question, Tables};

/// 2026-05-02T06:00:00Z (1,777,680,000 s after 1970: 20,575 days of 86,400 s and 21,600 s more).
const SIX: i64 = (20_575 * 86_400 + 21_600) * 1000;
const MINUTE: i64 = 60_000;

fn cooks() -> Table {
    table!(
        "cook" => ["a", "b", "c", "d"],
        "pit" => [Some("big"), Some("small"), Some("big"), None],
        "stall_min" => [Some(200.0), Some(90.0), None, Some(100.0)],
        "stalls" => [2, 1, 0, 1],
        "wrapped" => [Some(true), Some(false), Some(true), None],
    )
}

fn events() -> Table {
    let at = [0, 150, 60, 0].map(|minutes| Some(SIX + minutes * MINUTE));
    table!("cook" => ["a", "a", "b", "c"], "event" => ["meat_on", "wrap", "spritz", "wrap"])
        .with("at", Column::Instant(at.to_vec()))
}

fn try_ask(sql: &str) -> Result<Answer, QueryError> {
    let question = Question::parse(sql, &["cooks", "events"])?;
    let mut tables = Tables::default();
    tables.add("cooks", &cooks())?;
    tables.add("events", &events())?;
    question.ask(&tables)
}

#[track_caller]
fn ask(sql: &str) -> Table {
    try_ask(sql).unwrap_or_else(|error| panic!("{sql}: {error}")).table
}

#[track_caller]
fn refused(sql: &str, words: &[&str]) {
    let error = match try_ask(sql) {
        Ok(answer) => panic!("{sql} was answered: {:?}", answer.table),
        Err(error) => error.to_string(),
    };
    for word in words {
        assert!(error.contains(word), "{sql}: `{word}` is missing from: {error}");
    }
}

#[test]
fn groups_and_their_means() {
    assert_eq!(
        ask("SELECT pit, COUNT(*) AS cooks, AVG(stall_min) AS mean_min FROM cooks GROUP BY pit"),
        table!(
            "pit" => [Some("big"), Some("small"), None],
            "cooks" => [2, 1, 1],
            "mean_min" => [200.0, 90.0, 100.0],
        )
    );
    // A computed column without a name bears its own text; COUNT of a column leaves out NULL.
    assert_eq!(
        ask("SELECT COUNT(stall_min), MIN(stall_min), MAX(stall_min), SUM(stalls) FROM cooks"),
        table!(
            "COUNT(stall_min)" => [3],
            "MIN(stall_min)" => [90.0],
            "MAX(stall_min)" => [200.0],
            "SUM(stalls)" => [4],
        )
    );
    assert_eq!(
        ask("SELECT pit FROM cooks GROUP BY pit HAVING COUNT(*) > 1"),
        table!("pit" => ["big"])
    );
    // Of 90, 100 and 200 the mean is 130, the squares of what is left 1600, 900 and 4900: 7400 / 2.
    let sd = ask("SELECT STDDEV(stall_min) AS sd_min FROM cooks");
    let Some(Column::Float(sd)) = sd.column("sd_min") else { panic!("{sd:?}") };
    assert!((sd[0].unwrap() - 3700.0_f64.sqrt()).abs() < 1e-9, "{sd:?}");
}

#[test]
fn joins_within_the_question() {
    assert_eq!(
        ask("SELECT c.cook, e.event FROM cooks c LEFT JOIN events e ON c.cook = e.cook"),
        table!(
            "cook" => ["a", "a", "b", "c", "d"],
            "event" => [Some("meat_on"), Some("wrap"), Some("spritz"), Some("wrap"), None],
        )
    );
    let without = table!("cook" => ["d"]);
    assert_eq!(ask("SELECT cook FROM cooks WHERE cook NOT IN (SELECT cook FROM events)"), without);
    assert_eq!(ask("SELECT cook FROM cooks EXCEPT SELECT cook FROM events"), without);
    assert_eq!(ask("SELECT cook FROM cooks ANTI JOIN events USING (cook)"), without);
    assert_eq!(
        ask("WITH wraps AS (SELECT cook, COUNT(*) AS wraps FROM events WHERE event = 'wrap' GROUP BY cook)
             SELECT pit, SUM(wraps) AS wraps FROM cooks JOIN wraps USING (cook) GROUP BY pit"),
        table!("pit" => ["big"], "wraps" => [2])
    );
    assert_eq!(
        ask("SELECT cook, RANK() OVER (ORDER BY stalls) AS place FROM cooks WHERE pit IS NOT NULL"),
        table!("cook" => ["a", "b", "c"], "place" => [3, 2, 1])
    );
}

#[test]
fn missing_values_and_yes_or_no() {
    assert_eq!(ask("SELECT cook FROM cooks WHERE stall_min IS NULL"), table!("cook" => ["c"]));
    // A comparison with NULL is neither true nor false.
    assert_eq!(ask("SELECT cook FROM cooks WHERE stall_min <> 90"), table!("cook" => ["a", "d"]));
    assert_eq!(ask("SELECT cook FROM cooks WHERE wrapped"), table!("cook" => ["a", "c"]));
    assert_eq!(ask("SELECT cook FROM cooks WHERE NOT wrapped"), table!("cook" => ["b"]));
    let but = table!("cook" => ["b", "d"]);
    assert_eq!(ask("SELECT cook FROM cooks WHERE wrapped IS NOT TRUE"), but);
    assert_eq!(ask("SELECT cook FROM cooks WHERE wrapped IS DISTINCT FROM TRUE"), but);
    assert_eq!(
        ask("SELECT cook, wrapped IS FALSE AS no FROM cooks WHERE wrapped IS NOT FALSE"),
        table!("cook" => ["a", "c", "d"], "no" => [false; 3])
    );
    assert_eq!(
        ask("SELECT COALESCE(pit, 'none') AS pit, stalls = 1 AS once FROM cooks WHERE cook = 'd'"),
        table!("pit" => ["none"], "once" => [true])
    );
}

#[test]
fn not_a_number_is_a_value_of_its_own() {
    let mut tables = Tables::default();
    tables.add("t", &table!("x" => [Some(f64::NAN), None, Some(1.0)])).unwrap();
    let answer = |sql: &str| {
        let table = Question::parse(sql, &["t"]).unwrap().ask(&tables).unwrap().table;
        format!("{:?}", table.columns()[0].1)
    };
    assert_eq!(answer("SELECT x FROM t"), "Float([Some(1.0), Some(NaN), None])");
    assert_eq!(answer("SELECT COUNT(*) FROM t WHERE x IS NULL"), "Int([Some(1)])");
}

#[test]
fn instants_are_compared_with_text() {
    let wraps = table!("cook" => ["a", "b"]);
    for later in [
        "at > '2026-05-02T06:30:00Z'",
        "at > '2026-05-02T08:30:00+02:00'",
        "at > '2026-05-02 06:30:00'",
        "\"at\" >= TIMESTAMP '2026-05-02T07:00:00Z'",
        "at BETWEEN '2026-05-02T06:30:00Z' AND '2026-05-03'",
        "at IN ('2026-05-02T07:00:00Z', '2026-05-02T08:30:00Z')",
    ] {
        assert_eq!(ask(&format!("SELECT cook FROM events WHERE {later}")), wraps, "{later}");
    }
    assert_eq!(ask("SELECT cook FROM events WHERE at < '2026-05-02'").rows(), 0);
    assert_eq!(
        ask("SELECT event, at FROM events WHERE cook = 'a'").column("at"),
        Some(&Column::Instant(vec![Some(SIX), Some(SIX + 150 * MINUTE)]))
    );
    // 150 minutes; the unit stands in the name.
    assert_eq!(
        ask("SELECT MAX(at) - MIN(at) AS span FROM events WHERE cook = 'a'"),
        table!("span_s" => [9000.0])
    );
    assert_eq!(
        ask(
            "SELECT EXTRACT(hour FROM at) AS hour, DATE(at) AS day, COUNT(*) AS n FROM events GROUP BY 1, 2"
        ),
        table!("hour" => [6, 7, 8], "day" => ["2026-05-02"; 3], "n" => [2, 1, 1])
    );
}

#[test]
fn rows_come_in_one_order() {
    let cooks = |sql: &str| match ask(sql).column("cook") {
        Some(Column::Text(cooks)) => {
            cooks.iter().map(|cook| cook.clone().unwrap_or_default()).collect::<String>()
        }
        other => panic!("{other:?}"),
    };
    assert_eq!(cooks("SELECT cook FROM cooks ORDER BY stall_min"), "bdac");
    assert_eq!(cooks("SELECT cook FROM cooks ORDER BY stall_min DESC"), "adbc");
    assert_eq!(cooks("SELECT cook FROM cooks ORDER BY stall_min DESC NULLS FIRST"), "cadb");
    assert_eq!(cooks("SELECT cook, stalls FROM cooks ORDER BY 2"), "cbda");
    assert_eq!(cooks("SELECT cook, stalls AS n FROM cooks ORDER BY n DESC, cook DESC"), "adbc");
    assert_eq!(cooks("SELECT cook, stalls AS n FROM cooks ORDER BY -n"), "abdc");
    assert_eq!(cooks("SELECT c.cook FROM cooks AS c ORDER BY c.stalls, c.cook DESC"), "cdba");
    assert_eq!(cooks("SELECT stalls, cook FROM cooks"), "cbda");
    assert_eq!(cooks("SELECT stalls, cook FROM cooks ORDER BY ALL DESC"), "adbc");
    assert_eq!(cooks("SELECT cook FROM cooks GROUP BY cook ORDER BY SUM(stalls), cook"), "cbda");
    assert_eq!(cooks("SELECT DISTINCT cook FROM events ORDER BY cook DESC"), "cba");
    assert_eq!(cooks("SELECT cook FROM events UNION SELECT cook FROM cooks ORDER BY cook"), "abcd");
    assert_eq!(cooks("SELECT cook FROM cooks LIMIT 2"), "ab");
    assert_eq!(cooks("SELECT cook FROM cooks ORDER BY cook DESC LIMIT 2 OFFSET 1"), "cb");
    assert_eq!(cooks("SELECT cook FROM cooks OFFSET 9"), "");
    assert_eq!(cooks("SELECT cook FROM cooks LIMIT 0"), "");
}

#[test]
fn ties_of_many_groups_are_in_order_too() {
    let names: Vec<String> = (0..500).map(|n| format!("{n:03}")).collect();
    let mut tables = Tables::default();
    tables.add("t", &table!("name" => &names, "one" => vec![1; 500])).unwrap();
    let sql = "SELECT name, SUM(one) AS n FROM t GROUP BY name ORDER BY n LIMIT 499";
    let answer = Question::parse(sql, &["t"]).unwrap().ask(&tables).unwrap().table;
    assert_eq!(answer.column("name"), Some(&Column::from(&names[..499])));
}

#[test]
fn an_answer_without_rows_keeps_its_columns() {
    let none = ask("SELECT cook, stall_min, wrapped FROM cooks WHERE stalls > 9");
    assert_eq!(none.rows(), 0);
    assert_eq!(none.names().collect::<Vec<_>>(), ["cook", "stall_min", "wrapped"]);
    let kinds = none.columns().iter().map(|(_, column)| column.kind());
    assert_eq!(kinds.collect::<Vec<_>>(), ["text", "floating-point numbers", "yes or no"]);
}

#[test]
fn where_the_values_of_a_column_come_from() {
    let sources = |sql: &str| {
        let sources = try_ask(sql).unwrap().sources;
        sources.into_iter().map(|source| source.unwrap_or("–".into())).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(
        sources("SELECT cook, stall_min AS x, stall_min / 60 FROM cooks"),
        "cook stall_min –"
    );
    assert_eq!(
        sources("SELECT MAX(stall_min), STDDEV(stall_min) AS stall_min FROM cooks"),
        "stall_min –"
    );
    assert_eq!(sources("SELECT * FROM cooks LIMIT 1"), "cook pit stall_min stalls wrapped");
    // What a part of the question makes of a column is not followed.
    assert_eq!(
        sources("SELECT stall_min FROM (SELECT STDDEV(stall_min) AS stall_min FROM cooks) AS s"),
        "–"
    );
    assert_eq!(sources("WITH c AS (SELECT cook FROM cooks) SELECT * FROM c LIMIT 1"), "–");
}

#[test]
fn names_that_are_not_there() {
    refused("SELECT * FROM cook", &["no table `cook`", "did you mean `cooks`?"]);
    refused("SELECT stal_min FROM cooks", &["no column `stal_min`", "did you mean `stall_min`?"]);
    refused("SELECT c.Stalls FROM cooks AS c", &["no column `Stalls`", "did you mean `stalls`?"]);
    refused("SELECT cook FROM cooks WHERE pit = \"big\"", &["`big`", "the text 'big', in single"]);
    refused("SELECT cook FROM cooks ORDER BY stals", &["`stals`", "did you mean `stalls`?"]);
    refused("SELECT AVGE(stalls) FROM cooks", &["no function `avge`", "did you mean `avg`?"]);
    refused("SELECT x.cook FROM cooks AS c", &["no table `x`"]);
    refused("SELECT cook FROM cooks ORDER BY 3", &["ORDER BY 3", "1 columns"]);
}

#[test]
fn what_is_no_question() {
    refused("SELCT * FROM cooks", &["no SQL", "did you mean `SELECT`?"]);
    refused("SELECT cook FROM cooks WHERE", &["no SQL", "an expression"]);
    refused("", &["empty"]);
    refused("SELECT 1; SELECT 2", &["one question at a time"]);
    refused("SELECT cook, cook FROM cooks", &["AS"]);
    refused("SELECT cook FROM cooks WHERE stalls = 'many'", &["cannot"]);
    refused("SELECT cook FROM cooks WHERE stalls > (SELECT AVG(stalls) FROM cooks)", &["join it"]);
    refused("SELECT cook FROM cooks HAVING stalls > 1", &["HAVING", "not known here"]);
    refused("SELECT pit, COUNT(*) FROM cooks GROUP BY CUBE (pit, cook)", &["not known here"]);
    refused("SELECT cook FROM cooks LIMIT stalls", &["whole number"]);
    refused("SELECT ARRAY_AGG(cook) AS all_cooks FROM cooks", &["`all_cooks`", "list"]);
}

#[test]
fn nothing_but_reading_is_done() {
    for change in [
        "CREATE TABLE t AS SELECT * FROM cooks",
        "DROP TABLE cooks",
        "INSERT INTO cooks VALUES ('x')",
        "DELETE FROM cooks",
        "UPDATE cooks SET pit = 'x'",
        "TRUNCATE TABLE cooks",
        "COPY cooks TO '/tmp/x.csv'",
    ] {
        let word = change.split(' ').next().unwrap();
        refused(change, &[word, "SELECT or WITH", "never changed"]);
    }
    refused("SELECT * INTO t FROM cooks", &["never changed"]);
    refused("SHOW TABLES", &["--tables"]);
    for function in ["read_csv", "read_parquet", "read_json", "read_ipc"] {
        let sql = format!("SELECT * FROM {function}('/etc/passwd')");
        refused(&sql, &[function, "no files"]);
        refused(&format!("SELECT * FROM ({sql}) AS t"), &[function, "no files"]);
    }
    refused("SELECT * FROM '/etc/passwd'", &["no table"]);
    refused("SELECT * FROM db.cooks", &["one word"]);
    // One value of all rows beside every row is no answer that anybody asked for.
    refused("SELECT cook, COUNT(*) FROM cooks", &["`cook`", "GROUP BY cook", "OVER ()"]);
    refused("SELECT *, AVG(stalls) AS mean FROM cooks", &["`*`"]);
    refused("SELECT COUNT(*) FROM cooks ORDER BY cook", &["`cook`"]);
    assert_eq!(
        ask("SELECT cook, COUNT(*) OVER () AS n FROM cooks WHERE stalls = 1"),
        table!("cook" => ["b", "d"], "n" => [2, 2])
    );
}

#[test]
fn parts_of_a_question_hide_no_table_and_take_no_chance_rows() {
    refused("WITH cooks AS (SELECT * FROM events) SELECT * FROM cooks", &["name of a table"]);
    refused("SELECT * FROM (SELECT * FROM cooks) AS events", &["name of a table"]);
    refused("SELECT * FROM cooks AS events", &["name of a table"]);
    refused("SELECT * FROM (SELECT * FROM cooks LIMIT 1) AS one", &["ORDER BY"]);
    refused("SELECT DISTINCT ON (pit) cook FROM cooks ORDER BY pit", &["ROW_NUMBER"]);
    assert_eq!(ask("SELECT cooks.cook FROM cooks AS cooks LIMIT 1"), table!("cook" => ["a"]));
}

#[test]
fn what_a_question_needs_is_known_before_anything_is_read() {
    let parse = |sql: &str| Question::parse(sql, &["cooks", "readings"]).unwrap();
    let question = parse("SELECT AVG(temp_c) FROM readings WHERE cook = 'a' AND (role = 'pit')");
    assert_eq!(question.tables().iter().collect::<Vec<_>>(), ["readings"]);
    assert!(question.may_read("temp_c") && question.may_read("role") && !question.may_read("line"));
    assert_eq!(question.only("readings", "cook"), Some(["a".to_owned()].into()));
    assert_eq!(question.only("readings", "channel"), None);
    let of = |sql: &str| parse(sql).only("readings", "cook").map(|cooks| cooks.len());
    assert_eq!(of("SELECT * FROM readings WHERE cook IN ('a', 'b')"), Some(2));
    for other in [
        "SELECT * FROM readings WHERE cook = 'a' OR temp_c > 90",
        "SELECT * FROM readings WHERE cook NOT IN ('a')",
        "SELECT * FROM readings WHERE NOT (cook = 'a')",
        "SELECT * FROM readings WHERE cook <> 'a'",
        "SELECT * FROM readings",
        "SELECT * FROM readings JOIN cooks USING (cook) WHERE cook = 'a'",
        "SELECT * FROM readings WHERE cook = 'a' AND temp_c > (SELECT AVG(temp_c) FROM readings)",
        "SELECT * FROM cooks WHERE cook = 'a'",
    ] {
        assert_eq!(of(other), None, "{other}");
    }
    for all in [
        "SELECT r.* FROM readings AS r",
        "SELECT COUNT(*) FROM readings NATURAL JOIN cooks",
        "SELECT \"^l.*$\" FROM readings",
        "SELECT SUM(line) FROM readings",
        "SELECT COUNT(*) FROM cooks JOIN readings USING (line)",
    ] {
        assert!(parse(all).may_read("line"), "{all}");
    }
}

proptest! {
    #[test]
    fn all_of_a_table_is_the_table(
        rows in prop::collection::vec(
            (any::<Option<u16>>(), any::<Option<bool>>(), "\\PC{0,6}", any::<Option<i32>>()), 0..40
        ),
    ) {
        let ids = (0..rows.len() as i64).map(Some).collect();
        let table = Table::new()
            .with("id", Column::Int(ids))
            .with("x", Column::Float(rows.iter().map(|row| row.0.map(|x| f64::from(x) / 8.0)).collect()))
            .with("yes", Column::Bool(rows.iter().map(|row| row.1).collect()))
            .with("odd \"name\"", Column::Text(rows.iter().map(|row| Some(row.2.clone())).collect()))
            .with("at", Column::Instant(rows.iter().map(|row| row.3.map(|ms| i64::from(ms) * 977)).collect()));
        let question = Question::parse("SELECT * FROM t", &["t"]).unwrap();
        let mut tables = Tables::default();
        // In two parts: rows are added behind each other.
        let (first, second): (Vec<usize>, Vec<usize>) = (0..table.rows()).partition(|row| row % 3 == 0);
        tables.add("t", &table.take(&second)).unwrap();
        tables.add("t", &table.take(&first)).unwrap();
        prop_assert_eq!(question.ask(&tables).unwrap().table, table);
    }

    #[test]
    fn any_text_is_answered_or_refused(sql in "(SELECT|WITH|FROM|cooks|cook|\\*|,|\\(|\\)|'a'|1|AS|WHERE|=|ORDER BY|LIMIT|GROUP BY|stalls| ){0,14}") {
        let _ = try_ask(&sql);
    }
}
