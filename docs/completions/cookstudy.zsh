#compdef cookstudy

autoload -U is-at-least

_cookstudy() {
    typeset -A opt_args
    typeset -a _arguments_options
    local ret=1

    if is-at-least 5.2; then
        _arguments_options=(-s -S -C)
    else
        _arguments_options=(-s -C)
    fi

    local context curcontext="$curcontext" state line
    _arguments "${_arguments_options[@]}" : \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
'-V[Print version]' \
'--version[Print version]' \
":: :_cookstudy_commands" \
"*::: :->cookstudy" \
&& ret=0
    case $state in
    (cookstudy)
        words=($line[1] "${words[@]}")
        (( CURRENT += 1 ))
        curcontext="${curcontext%:*:*}:cookstudy-command-$line[1]:"
        case $line[1] in
            (demo)
_arguments "${_arguments_options[@]}" : \
'--out=[Folder to make (default\: cookstudy-demo)]:DIR:_files' \
'-h[Print help]' \
'--help[Print help]' \
&& ret=0
;;
(new)
_arguments "${_arguments_options[@]}" : \
'--tz=[IANA time zone of the clocks of logs and sheets (default\: asked at a terminal, else left out)]:ZONE:_default' \
'--units=[Units that people are shown (default\: asked at a terminal, else us)]:UNITS:((us\:"°F and pounds"
metric\:"°C and kilograms"))' \
'*--from=[Copy these logs (files, folders, globs) into it, and fill the sheet with what they show]:LOG:_files' \
'(--from)--page[Write only pit.html, of a season folder that is there, with the cards of its sheet as they are now]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
':folder -- Folder to make; files that are there already are never overwritten:_files' \
&& ret=0
;;
(note)
_arguments "${_arguments_options[@]}" : \
'(--from)--at=[When\: 3\:10 is the last such time, +6\:30 counts from meat-on \[default\: now\]]:TIME:_default' \
'--from=[Take the events of a file\: an export of pit.html, or plain lines]:FILE:_files' \
'(--from)--remark=[A remark to keep with it]:TEXT:_default' \
'--season=[Season folder]:DIR:_files' \
'-h[Print help]' \
'--help[Print help]' \
'::cook -- The cook, as the season sheet names it; with --from, whose the lines are that name none:_default' \
'::event -- What happened:_default' \
'::value -- Method of a wrap, temperature of a set-point or of the core (with C or F), mass of fuel (with its unit), what was felt or seen:_default' \
&& ret=0
;;
(inspect)
_arguments "${_arguments_options[@]}" : \
'--settings=[Season settings to read them with]:FILE:_files' \
'--questions=[Answers to questions (default\: questions.toml beside the settings)]:FILE:_files' \
'--tz=[IANA time zone of clock times without an offset (default\: the settings'\'' zone; without one, a time that hangs on it is a question)]:ZONE:_default' \
'*--layout=[Layout file to try first]:FILE:_files' \
'--save-layout=[Write the layout as read, to edit and name in season.toml (one log only)]:FILE:_files' \
'--format=[How to print]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
'*::logs -- Logs to look at\: files, folders or globs:_files' \
&& ret=0
;;
(run)
_arguments "${_arguments_options[@]}" : \
'--out=[For logs without a season folder\: the folder of store, results and questions \[default\: cookstudy-out\]]:DIR:_files' \
'--tz=[For logs without a season folder\: IANA time zone of clock times without an offset (without one, a time that hangs on it is a question)]:ZONE:_default' \
'--units=[Units of the report, whatever season.toml says]:UNITS:((us\:"°F and pounds"
metric\:"°C and kilograms"))' \
'--now=[The instant that claims.lock takes for now, such as 2026-11-30T08\:15\:00Z, for tests; it is written down there \[default\: this computer'\''s clock\]]:INSTANT:_default' \
'--strict[Exit with 1 where anything was rejected]' \
'--prune[Give up what was read from files that are gone or cannot be opened any more]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
'*::inputs -- Season folder (holds season.toml), or logs\: files, folders, globs \[default\: the folder it stands in\]:_files' \
&& ret=0
;;
(ingest)
_arguments "${_arguments_options[@]}" : \
'*--logs=[Log files, folders or globs; logs in .gz, .zst and .zip are read too]:PATH:_files' \
'*--sheet=[Season sheet, one row a cook\: CSV, XLSX or ODS (\`file.xlsx#Worksheet\` picks one)]:FILE:_files' \
'*--events=[Events sheet, one row an event\: CSV, XLSX or ODS]:FILE:_files' \
'*--scores=[Scores sheet, one row a score\: CSV, XLSX or ODS; the settings hold the scales]:FILE:_files' \
'--store=[Store to write to; made where it is not there]:DIR:_files' \
'--tz=[IANA time zone of clock times without an offset (default\: the settings'\'' zone; without one, a time that hangs on it is a question)]:ZONE:_default' \
'*--layout=[Layout file to try first]:FILE:_files' \
'--settings=[Season settings]:FILE:_files' \
'--questions=[Answers to questions (default\: questions.toml beside the settings)]:FILE:_files' \
'--format=[How to print the list of cooks]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'--strict[Exit with 1 where anything was rejected]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
&& ret=0
;;
(phases)
_arguments "${_arguments_options[@]}" : \
'--store=[The store]:DIR:_files' \
'--settings=[Season settings]:FILE:_files' \
'--format=[How to print the rows]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'--sensitivity[List how far each cook'\''s stall moves when the definition'\''s constants are moved]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
&& ret=0
;;
(measures)
_arguments "${_arguments_options[@]}" : \
'--store=[The store]:DIR:_files' \
'--settings=[Season settings]:FILE:_files' \
'--format=[How to print the rows]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
&& ret=0
;;
(study)
_arguments "${_arguments_options[@]}" : \
'--store=[The store whose measures are studied]:DIR:_files' \
'(--store)--table=[A CSV or Parquet file with one row a cook, in place of a store]:FILE:_files' \
'--claims=[Claims to judge]:FILE:_files' \
'--lock=[When each claim was first written down; without it every verdict is after the fact]:FILE:_files' \
'--out=[Folder to write study.json and data/ to]:DIR:_files' \
'(--out)--effects-only=[Write this file alone\: the effects of the claims, to be pooled with those of other teams]:FILE:_files' \
'--settings=[Season settings]:FILE:_files' \
'--format=[How to print the verdicts]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
&& ret=0
;;
(claim)
_arguments "${_arguments_options[@]}" : \
'-h[Print help]' \
'--help[Print help]' \
":: :_cookstudy__subcmd__claim_commands" \
"*::: :->claim" \
&& ret=0

    case $state in
    (claim)
        words=($line[1] "${words[@]}")
        (( CURRENT += 1 ))
        curcontext="${curcontext%:*:*}:cookstudy-claim-command-$line[1]:"
        case $line[1] in
            (new)
_arguments "${_arguments_options[@]}" : \
'--argument=[Which argument (default\: asked at a terminal)]:NAME:(hotter-pit heavier-cut wrap-sooner drawn-sooner drawn-bark wood-taste pit-sooner water-pan)' \
'--between=[Its two sides, the one that is said to win first]:A,B:_default' \
'--matters=[The smallest difference that would make you cook otherwise]:NUMBER:_default' \
'--id=[Name of the claim (default\: made of the argument)]:ID:_default' \
'--says=[The claim in your own words]:TEXT:_default' \
'--judge-after=[New cooks that judge it]:COOKS:_default' \
'--season=[Season folder]:DIR:_files' \
'-h[Print help]' \
'--help[Print help]' \
&& ret=0
;;
(help)
_arguments "${_arguments_options[@]}" : \
":: :_cookstudy__subcmd__claim__subcmd__help_commands" \
"*::: :->help" \
&& ret=0

    case $state in
    (help)
        words=($line[1] "${words[@]}")
        (( CURRENT += 1 ))
        curcontext="${curcontext%:*:*}:cookstudy-claim-help-command-$line[1]:"
        case $line[1] in
            (new)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(help)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
        esac
    ;;
esac
;;
        esac
    ;;
esac
;;
(merge)
_arguments "${_arguments_options[@]}" : \
'--out=[Season folder to make\: one that is not there, is empty, or was made by merging before]:DIR:_files' \
'*--keep=[Keep this column all the same; may be given several times]:COLUMN:_default' \
'--key=[File that says who is who, for you alone\: written there, and read again so that codes stay the same as cooks are added; without it no such file is written and codes change with the cooks]:FILE:_files' \
'*--without=[Withdraw this team\: merge the others, and name the verdicts that change; may be given several times]:TEAM:_default' \
'--format=[How to print the list of teams]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'--anonymise[Put codes in place of names, drop words of your own, move dates]' \
'--twice[Count a cook that lies in two stores twice\: where they are two after all]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
'*::stores -- Stores or season folders; `TEAM=` in front says whose one is:_default' \
&& ret=0
;;
(pool)
_arguments "${_arguments_options[@]}" : \
'--out=[Folder to write to]:DIR:_files' \
'--units=[Units of the page]:UNITS:((us\:"°F and pounds"
metric\:"°C and kilograms"))' \
'--format=[How to print the claims]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
'*::files -- Files of effects, one a team:_files' \
&& ret=0
;;
(diff)
_arguments "${_arguments_options[@]}" : \
'--format=[How to print the claims that changed]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
':before -- The earlier study.json:_files' \
':after -- The later study.json:_files' \
&& ret=0
;;
(query)
_arguments "${_arguments_options[@]}" : \
'(--data)--store=[Ask the tables of this store, or of the store in this season folder]:DIR:_files' \
'--data=[Ask the .parquet and .csv files of this folder, such as a season'\''s out/data]:DIR:_files' \
'--settings=[Season settings, for units and clock of --format table]:FILE:_files' \
'--units=[Units of --format table, whatever the settings say]:UNITS:((us\:"°F and pounds"
metric\:"°C and kilograms"))' \
'--format=[How to print the rows]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'()--tables[List the tables with kind, unit and meaning of each column, in place of asking]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
'::sql -- The question:_default' \
&& ret=0
;;
(forecast)
_arguments "${_arguments_options[@]}" : \
'--season=[Season folder\: its settings, and the past in its store]:DIR:_files' \
'*--sheet=[Season sheet with the cooks'\'' cards (default\: those of season.toml)]:FILE:_files' \
'*--events=[Events sheet (default\: those of season.toml)]:FILE:_files' \
'--level=[How often in 100 a range should hold]:N:_default' \
'--wrap=[A wrap to come\: method and core, or method and time since meat-on (foil@165F, foil@6\:30)]:M@T:_default' \
'--prior=[Whether simulated cooks stand in while there are few of your own]:PRIOR:((bundled\:"Simulated cooks that come with the program"
none\:"Nothing\: your own cooks alone"))' \
'*--what-if=[Something to try now; may be given several times]:CHANGE:_default' \
'--turn-in=[When it is turned in\: a clock time, the first such after the moment asked about, or a date and time]:TIME:_default' \
'--now=[The moment asked about (default\: each log'\''s last reading; of typed readings, this computer'\''s clock)]:INSTANT:_default' \
'--page=[Draw curve, range and past cooks alike as one HTML file]:FILE:_files' \
'()--pit=[The pit, typed in place of a log]:TEMP:_default' \
'()--setpoint=[The pit'\''s set-point, typed]:TEMP:_default' \
'()*--core=[A core reading and its time since meat-on (165F@3\:10); may be given several times]:TEMP@H:MM:_default' \
'()*--wrapped=[A wrap that was made, and its time since meat-on (foil@1\:40)]:M@H:MM:_default' \
'()--weight=[Weight as it went on (12lb)]:WEIGHT:_default' \
'()--cut=[The cut]:CUT:_default' \
'--format=[How to print the rows]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'(--core)--watch[Print again whenever the logs have grown and the answer has moved; ends with Ctrl-C]' \
'--explain[Say which past cooks count how much]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
'*::logs -- Logs of cooks that are on (none, and none typed\: cooks of the season that are read by hand alone):_files' \
&& ret=0
;;
(plan)
_arguments "${_arguments_options[@]}" : \
'--season=[Season folder\: its settings, and the past in its store]:DIR:_files' \
'*--sheet=[Season sheet with the cooks to plan (default\: those of season.toml)]:FILE:_files' \
'--turn-in=[When it is turned in, in place of the sheet'\''s \`turn_in_at\`]:TIME:_default' \
'--certainty=[How often in 100 it should be in time]:N:_default' \
'--weight=[Weight as it goes on (12lb)]:WEIGHT:_default' \
'--pit=[Which pit]:PIT:_default' \
'--setpoint=[The pit'\''s set-point (250F)]:TEMP:_default' \
'--wrap=[The wrap that is planned (foil@165F), or none]:M@T:_default' \
'--prior=[Whether simulated cooks stand in while there are few of your own]:PRIOR:((bundled\:"Simulated cooks that come with the program"
none\:"Nothing\: your own cooks alone"))' \
'--now=[The moment of planning (default\: this computer'\''s clock)]:INSTANT:_default' \
'--format=[How to print the rows]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'--check[Say how often such plans would have been on time on your own past]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
'*::cooks -- Cooks of the season sheet:_default' \
&& ret=0
;;
(trial)
_arguments "${_arguments_options[@]}" : \
'-h[Print help]' \
'--help[Print help]' \
":: :_cookstudy__subcmd__trial_commands" \
"*::: :->trial" \
&& ret=0

    case $state in
    (trial)
        words=($line[1] "${words[@]}")
        (( CURRENT += 1 ))
        curcontext="${curcontext%:*:*}:cookstudy-trial-command-$line[1]:"
        case $line[1] in
            (new)
_arguments "${_arguments_options[@]}" : \
'--claim=[The claim, by its id in claims.toml\: of kind compare or wrap-timing]:ID:_default' \
'--season=[Season folder]:DIR:_files' \
'--pairs=[How many pairs (with --single, blocks), in place of what your past says]:N:_default' \
'*--positions=[Places on the pit to draw among]:PLACE,PLACE:_default' \
'--now=[The instant taken for now (for tests)]:INSTANT:_default' \
'--format=[How to print the rows]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'--single[Single cooks in blocks of four, in place of two meats on a fire]' \
'--show[Say what it would take, and begin nothing]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
&& ret=0
;;
(next)
_arguments "${_arguments_options[@]}" : \
'--claim=[The claim, where several are tried]:ID:_default' \
'--season=[Season folder]:DIR:_files' \
'--date=[Date of cooks that no sheet has yet (default\: today)]:DATE:_default' \
'--page=[Write the lots as one page of HTML to print]:FILE:_files' \
'--now=[The instant taken for now (for tests)]:INSTANT:_default' \
'--format=[How to print the rows]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
'*::cooks -- The cooks\: both of a fire, or the one of a trial of single cooks:_default' \
&& ret=0
;;
(look)
_arguments "${_arguments_options[@]}" : \
'--claim=[The claim; all that are tried where it is left out]:ID:_default' \
'--season=[Season folder]:DIR:_files' \
'--now=[The instant taken for now (for tests)]:INSTANT:_default' \
'--format=[How to print the rows]:FORMAT:((table\:"Aligned columns for people"
json\:"An array of objects"
csv\:"Comma-separated values with a header"))' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
&& ret=0
;;
(help)
_arguments "${_arguments_options[@]}" : \
":: :_cookstudy__subcmd__trial__subcmd__help_commands" \
"*::: :->help" \
&& ret=0

    case $state in
    (help)
        words=($line[1] "${words[@]}")
        (( CURRENT += 1 ))
        curcontext="${curcontext%:*:*}:cookstudy-trial-help-command-$line[1]:"
        case $line[1] in
            (new)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(next)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(look)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(help)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
        esac
    ;;
esac
;;
        esac
    ;;
esac
;;
(report)
_arguments "${_arguments_options[@]}" : \
'--store=[The store]:DIR:_files' \
'--study=[The study, as \`cookstudy study\` wrote it]:FILE:_files' \
'--out=[Folder to write report.html and data/ to]:DIR:_files' \
'*--cook=[Only this cook'\''s page, as cook-ID.html; given again, up to four cooks laid over each other, as cooks-ID+ID.html]:ID:_default' \
'--units=[Units of the report, whatever the settings say]:UNITS:((us\:"°F and pounds"
metric\:"°C and kilograms"))' \
'--settings=[Season settings (default\: those of the season that the store lies in)]:FILE:_files' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
&& ret=0
;;
(summary)
_arguments "${_arguments_options[@]}" : \
'--store=[The store]:DIR:_files' \
'--study=[The study, as \`cookstudy study\` wrote it]:FILE:_files' \
'--out=[File to write]:FILE:_files' \
'--units=[Units of the pages, whatever the settings say]:UNITS:((us\:"°F and pounds"
metric\:"°C and kilograms"))' \
'--settings=[Season settings (default\: those of the season that the store lies in)]:FILE:_files' \
'--public[For people outside the team\: without costs, suppliers, lots and columns of your own]' \
'-h[Print help (see more with '\''--help'\'')]' \
'--help[Print help (see more with '\''--help'\'')]' \
&& ret=0
;;
(completions)
_arguments "${_arguments_options[@]}" : \
'-h[Print help]' \
'--help[Print help]' \
':shell -- Which shell:(bash elvish fish powershell zsh)' \
&& ret=0
;;
(help)
_arguments "${_arguments_options[@]}" : \
":: :_cookstudy__subcmd__help_commands" \
"*::: :->help" \
&& ret=0

    case $state in
    (help)
        words=($line[1] "${words[@]}")
        (( CURRENT += 1 ))
        curcontext="${curcontext%:*:*}:cookstudy-help-command-$line[1]:"
        case $line[1] in
            (demo)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(new)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(note)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(inspect)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(run)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(ingest)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(phases)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(measures)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(study)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(claim)
_arguments "${_arguments_options[@]}" : \
":: :_cookstudy__subcmd__help__subcmd__claim_commands" \
"*::: :->claim" \
&& ret=0

    case $state in
    (claim)
        words=($line[1] "${words[@]}")
        (( CURRENT += 1 ))
        curcontext="${curcontext%:*:*}:cookstudy-help-claim-command-$line[1]:"
        case $line[1] in
            (new)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
        esac
    ;;
esac
;;
(merge)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(pool)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(diff)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(query)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(forecast)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(plan)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(trial)
_arguments "${_arguments_options[@]}" : \
":: :_cookstudy__subcmd__help__subcmd__trial_commands" \
"*::: :->trial" \
&& ret=0

    case $state in
    (trial)
        words=($line[1] "${words[@]}")
        (( CURRENT += 1 ))
        curcontext="${curcontext%:*:*}:cookstudy-help-trial-command-$line[1]:"
        case $line[1] in
            (new)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(next)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(look)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
        esac
    ;;
esac
;;
(report)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(summary)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(completions)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
(help)
_arguments "${_arguments_options[@]}" : \
&& ret=0
;;
        esac
    ;;
esac
;;
        esac
    ;;
esac
}

(( $+functions[_cookstudy_commands] )) ||
_cookstudy_commands() {
    local commands; commands=(
'demo:Write the bundled team'\''s seasons, run the whole pipeline on them, say where the report is' \
'new:Make a season folder\: settings, sheets and claims to fill in, a card to print, a page for a phone' \
'note:Write events into the season'\''s events sheet\: one, now or at a time, or those of a file' \
'inspect:Show how each log would be read\: every guess, its evidence, the setting that overrides it' \
'run:Run all stages for a season folder, or for logs alone; only what changed is done again' \
'ingest:Read logs and sheets into a store' \
'phases:Find ramp, stall, push and rest of every cook in a store' \
'measures:Work out one row of measures a cook' \
'study:Answer the questions\: what drives the stall, and what the data say of each claim' \
'claim:Write an argument down as a claim, before looking' \
'merge:Merge several teams or seasons into one season folder, anonymised on request' \
'pool:Combine claims of several teams from their effects alone, without their cooks' \
'diff:Set two studies side by side\: which answers changed, and why' \
'query:Ask the tables in SQL' \
'forecast:Say when cooks that are on will be done, with a range, and what a wrap now would change' \
'plan:Say when to light the fire and put the meat on, so that it is rested and ready in time' \
'trial:Draw lots that settle a claim, and look at what they say' \
'report:Print the season report, or one cook'\''s page' \
'summary:Print the four pages for a team to frame\: verdicts, the argument, the season, every cook' \
'completions:Print a shell'\''s completion script to stdout' \
'help:Print this message or the help of the given subcommand(s)' \
    )
    _describe -t commands 'cookstudy commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__claim_commands] )) ||
_cookstudy__subcmd__claim_commands() {
    local commands; commands=(
'new:Write an argument down as a claim, before looking; says how likely cooks to come will answer it' \
'help:Print this message or the help of the given subcommand(s)' \
    )
    _describe -t commands 'cookstudy claim commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__claim__subcmd__help_commands] )) ||
_cookstudy__subcmd__claim__subcmd__help_commands() {
    local commands; commands=(
'new:Write an argument down as a claim, before looking; says how likely cooks to come will answer it' \
'help:Print this message or the help of the given subcommand(s)' \
    )
    _describe -t commands 'cookstudy claim help commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__claim__subcmd__help__subcmd__help_commands] )) ||
_cookstudy__subcmd__claim__subcmd__help__subcmd__help_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy claim help help commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__claim__subcmd__help__subcmd__new_commands] )) ||
_cookstudy__subcmd__claim__subcmd__help__subcmd__new_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy claim help new commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__claim__subcmd__new_commands] )) ||
_cookstudy__subcmd__claim__subcmd__new_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy claim new commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__completions_commands] )) ||
_cookstudy__subcmd__completions_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy completions commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__demo_commands] )) ||
_cookstudy__subcmd__demo_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy demo commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__diff_commands] )) ||
_cookstudy__subcmd__diff_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy diff commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__forecast_commands] )) ||
_cookstudy__subcmd__forecast_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy forecast commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help_commands] )) ||
_cookstudy__subcmd__help_commands() {
    local commands; commands=(
'demo:Write the bundled team'\''s seasons, run the whole pipeline on them, say where the report is' \
'new:Make a season folder\: settings, sheets and claims to fill in, a card to print, a page for a phone' \
'note:Write events into the season'\''s events sheet\: one, now or at a time, or those of a file' \
'inspect:Show how each log would be read\: every guess, its evidence, the setting that overrides it' \
'run:Run all stages for a season folder, or for logs alone; only what changed is done again' \
'ingest:Read logs and sheets into a store' \
'phases:Find ramp, stall, push and rest of every cook in a store' \
'measures:Work out one row of measures a cook' \
'study:Answer the questions\: what drives the stall, and what the data say of each claim' \
'claim:Write an argument down as a claim, before looking' \
'merge:Merge several teams or seasons into one season folder, anonymised on request' \
'pool:Combine claims of several teams from their effects alone, without their cooks' \
'diff:Set two studies side by side\: which answers changed, and why' \
'query:Ask the tables in SQL' \
'forecast:Say when cooks that are on will be done, with a range, and what a wrap now would change' \
'plan:Say when to light the fire and put the meat on, so that it is rested and ready in time' \
'trial:Draw lots that settle a claim, and look at what they say' \
'report:Print the season report, or one cook'\''s page' \
'summary:Print the four pages for a team to frame\: verdicts, the argument, the season, every cook' \
'completions:Print a shell'\''s completion script to stdout' \
'help:Print this message or the help of the given subcommand(s)' \
    )
    _describe -t commands 'cookstudy help commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__claim_commands] )) ||
_cookstudy__subcmd__help__subcmd__claim_commands() {
    local commands; commands=(
'new:Write an argument down as a claim, before looking; says how likely cooks to come will answer it' \
    )
    _describe -t commands 'cookstudy help claim commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__claim__subcmd__new_commands] )) ||
_cookstudy__subcmd__help__subcmd__claim__subcmd__new_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help claim new commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__completions_commands] )) ||
_cookstudy__subcmd__help__subcmd__completions_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help completions commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__demo_commands] )) ||
_cookstudy__subcmd__help__subcmd__demo_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help demo commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__diff_commands] )) ||
_cookstudy__subcmd__help__subcmd__diff_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help diff commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__forecast_commands] )) ||
_cookstudy__subcmd__help__subcmd__forecast_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help forecast commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__help_commands] )) ||
_cookstudy__subcmd__help__subcmd__help_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help help commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__ingest_commands] )) ||
_cookstudy__subcmd__help__subcmd__ingest_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help ingest commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__inspect_commands] )) ||
_cookstudy__subcmd__help__subcmd__inspect_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help inspect commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__measures_commands] )) ||
_cookstudy__subcmd__help__subcmd__measures_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help measures commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__merge_commands] )) ||
_cookstudy__subcmd__help__subcmd__merge_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help merge commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__new_commands] )) ||
_cookstudy__subcmd__help__subcmd__new_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help new commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__note_commands] )) ||
_cookstudy__subcmd__help__subcmd__note_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help note commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__phases_commands] )) ||
_cookstudy__subcmd__help__subcmd__phases_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help phases commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__plan_commands] )) ||
_cookstudy__subcmd__help__subcmd__plan_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help plan commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__pool_commands] )) ||
_cookstudy__subcmd__help__subcmd__pool_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help pool commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__query_commands] )) ||
_cookstudy__subcmd__help__subcmd__query_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help query commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__report_commands] )) ||
_cookstudy__subcmd__help__subcmd__report_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help report commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__run_commands] )) ||
_cookstudy__subcmd__help__subcmd__run_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help run commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__study_commands] )) ||
_cookstudy__subcmd__help__subcmd__study_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help study commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__summary_commands] )) ||
_cookstudy__subcmd__help__subcmd__summary_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help summary commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__trial_commands] )) ||
_cookstudy__subcmd__help__subcmd__trial_commands() {
    local commands; commands=(
'new:Say how many fires a claim takes, and fix design, looks and rules before the first lot' \
'next:Write cooks into the sheet and show their lots\: arm, place on the pit, code for tasters' \
'look:Say what the lots say at the looks that are due, and whether to go on' \
    )
    _describe -t commands 'cookstudy help trial commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__trial__subcmd__look_commands] )) ||
_cookstudy__subcmd__help__subcmd__trial__subcmd__look_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help trial look commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__trial__subcmd__new_commands] )) ||
_cookstudy__subcmd__help__subcmd__trial__subcmd__new_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help trial new commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__help__subcmd__trial__subcmd__next_commands] )) ||
_cookstudy__subcmd__help__subcmd__trial__subcmd__next_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy help trial next commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__ingest_commands] )) ||
_cookstudy__subcmd__ingest_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy ingest commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__inspect_commands] )) ||
_cookstudy__subcmd__inspect_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy inspect commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__measures_commands] )) ||
_cookstudy__subcmd__measures_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy measures commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__merge_commands] )) ||
_cookstudy__subcmd__merge_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy merge commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__new_commands] )) ||
_cookstudy__subcmd__new_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy new commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__note_commands] )) ||
_cookstudy__subcmd__note_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy note commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__phases_commands] )) ||
_cookstudy__subcmd__phases_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy phases commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__plan_commands] )) ||
_cookstudy__subcmd__plan_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy plan commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__pool_commands] )) ||
_cookstudy__subcmd__pool_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy pool commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__query_commands] )) ||
_cookstudy__subcmd__query_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy query commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__report_commands] )) ||
_cookstudy__subcmd__report_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy report commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__run_commands] )) ||
_cookstudy__subcmd__run_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy run commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__study_commands] )) ||
_cookstudy__subcmd__study_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy study commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__summary_commands] )) ||
_cookstudy__subcmd__summary_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy summary commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__trial_commands] )) ||
_cookstudy__subcmd__trial_commands() {
    local commands; commands=(
'new:Say how many fires a claim takes, and fix design, looks and rules before the first lot' \
'next:Write cooks into the sheet and show their lots\: arm, place on the pit, code for tasters' \
'look:Say what the lots say at the looks that are due, and whether to go on' \
'help:Print this message or the help of the given subcommand(s)' \
    )
    _describe -t commands 'cookstudy trial commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__trial__subcmd__help_commands] )) ||
_cookstudy__subcmd__trial__subcmd__help_commands() {
    local commands; commands=(
'new:Say how many fires a claim takes, and fix design, looks and rules before the first lot' \
'next:Write cooks into the sheet and show their lots\: arm, place on the pit, code for tasters' \
'look:Say what the lots say at the looks that are due, and whether to go on' \
'help:Print this message or the help of the given subcommand(s)' \
    )
    _describe -t commands 'cookstudy trial help commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__trial__subcmd__help__subcmd__help_commands] )) ||
_cookstudy__subcmd__trial__subcmd__help__subcmd__help_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy trial help help commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__trial__subcmd__help__subcmd__look_commands] )) ||
_cookstudy__subcmd__trial__subcmd__help__subcmd__look_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy trial help look commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__trial__subcmd__help__subcmd__new_commands] )) ||
_cookstudy__subcmd__trial__subcmd__help__subcmd__new_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy trial help new commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__trial__subcmd__help__subcmd__next_commands] )) ||
_cookstudy__subcmd__trial__subcmd__help__subcmd__next_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy trial help next commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__trial__subcmd__look_commands] )) ||
_cookstudy__subcmd__trial__subcmd__look_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy trial look commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__trial__subcmd__new_commands] )) ||
_cookstudy__subcmd__trial__subcmd__new_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy trial new commands' commands "$@"
}
(( $+functions[_cookstudy__subcmd__trial__subcmd__next_commands] )) ||
_cookstudy__subcmd__trial__subcmd__next_commands() {
    local commands; commands=()
    _describe -t commands 'cookstudy trial next commands' commands "$@"
}

if [ "$funcstack[1]" = "_cookstudy" ]; then
    _cookstudy "$@"
else
    compdef _cookstudy cookstudy
fi
