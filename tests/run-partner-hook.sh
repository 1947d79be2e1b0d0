#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The webhook receiver that other tests lean on does what it is told.
. "${top_srcdir:-.}/tests/lib.sh"
need curl

# post SECONDS BODY [ID]
post()
{
    curl -s -S -o "$work/answer" -D "$work/head" -w '%{http_code}' --max-time "$1" \
        -H "Webhook-Id: ${3:-msg_1}" -d "$2" "$hook_url" 2> "$work/curl.err"
}

start_hook 500,503:7,410,302,hang,reset,slow,200

same 500 "$(post 5 one)" "first answer"
same 503 "$(post 5 two)" "second answer"
grep -q '^Retry-After: 7' "$work/head" || fail "503 carries no Retry-After"
same 410 "$(post 5 three)" "third answer"
same 302 "$(post 5 four)" "fourth answer"

# A hanging connection holds up no other.
start hanging curl -s --max-time 30 -d five "$hook_url"
wait_until 5 hook_count 5 || fail "the hanging request was not logged"
post 5 six > /dev/null
same 56 "$?" "curl's exit status for a reset connection"
kill -0 "$started_pid" || fail "the hanging request came to an end"
same 000 "$(post 1 seven)" "a slow answer within a second"
same 200 "$(post 5 'ei"ght ö')" "eighth answer"
same 200 "$(post 5 nine)" "an answer after the list"

same 9 "$(wc -l < "$hook_log" | tr -d ' ')" "requests logged"
grep -q '"path":"/hook"' "$hook_log" || fail "no path in the log"
grep -q '"webhook-id":"msg_1"' "$hook_log" || fail "no header in the log"
sed -n 8p "$hook_log" | grep -qF '"body":"ei\"ght ö"' || fail "body not logged as sent"

# One message has an answer of its own; another's answer never ends.
start own "$partner_hook" --log "$work/own.jsonl" --port-file "$work/own.port" \
    --answers 410 --for msg_bad=503 --for msg_long=endless
wait_until 10 test -s "$work/own.port" || fail "partner_hook does not listen"
hook_url=http://127.0.0.1:$(cat "$work/own.port")/hook
same 503 "$(post 5 one msg_bad)" "the answer of its own"
same 410 "$(post 5 two msg_b)" "another's answer"
same 200 "$(post 1 three msg_long)" "the status of an endless answer"
grep -q '^and so on' "$work/answer" || fail "the endless answer is not begun"
same 503 "$(post 5 four msg_bad)" "the answer of its own, again"
same 200 "$(post 5 five msg_b)" "an answer after the list"

# When to come again, as seconds and as a date, and answers of any length.
start more "$partner_hook" --log "$work/more.jsonl" --port-file "$work/more.port" \
    --answers 429:9,500@3600,200+3,headers
wait_until 10 test -s "$work/more.port" || fail "partner_hook does not listen"
hook_url=http://127.0.0.1:$(cat "$work/more.port")/hook
same 429 "$(post 5 one)" "a 429"
grep -q '^Retry-After: 9' "$work/head" || fail "429:9 carries no Retry-After"
same 500 "$(post 5 two)" "a 500"
grep -qE '^Retry-After: [A-Z][a-z]{2}, [0-9]{2} [A-Z][a-z]{2} 2[0-9]{3} .* GMT' "$work/head" ||
    fail "500@3600 carries no date"
same 200 "$(post 5 three)" "a long answer"
same 3145728 "$(wc -c < "$work/answer" | tr -d ' ')" "its length"
post 5 four > /dev/null && fail "headers that never end came to an end"

# At a port it is told, that was another's just now.
port=$(cat "$work/more.port")
stop "$started_pid"
start again "$partner_hook" --log "$work/again.jsonl" --port-file "$work/again.port" --port "$port"
wait_until 10 test -s "$work/again.port" || fail "partner_hook does not listen again"
same "$port" "$(cat "$work/again.port")" "the port it was told"
same 200 "$(post 5 one)" "an answer there"

"$partner_hook" --log "$work/x" --port-file "$work/y" --for msg_b=nonsense 2> /dev/null
same 2 "$?" "exit status for an own answer it does not know"
"$partner_hook" --log "$work/x" --port-file "$work/y" --answers nonsense 2> /dev/null
same 2 "$?" "exit status for an answer it does not know"
