#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A bus of 32 probes against libmodbus slaves over a pair of pseudo-terminals,
# with 1 answer in 100 spoilt: no wrong value may get through, every spoilt
# answer must be counted under its own cause, and nobody may wait for somebody
# else longer than one time-out.  LONG=1: 10,000 polls instead of 2,000, and
# another seed each time.  SEED=N repeats one.
if [ -n "$LONG" ]; then
	polls=10000
	seed=${SEED:-$(date +%s)}
else
	polls=2000
	seed=${SEED:-1}
fi

command -v socat >/dev/null && [ -x tests/partner_modbus ] || exit 77

dir=$(mktemp -d) || exit 1
socat_pid=""
partner_pid=""
clean_up() {
	[ -z "$partner_pid" ] || kill "$partner_pid" 2>/dev/null
	[ -z "$socat_pid" ] || kill "$socat_pid" 2>/dev/null
	rm -rf "$dir"
}
trap clean_up EXIT
trap 'exit 1' INT TERM

# wait_until WHAT COMMAND...: for 10 s at most
wait_until() {
	what=$1 tries=0
	shift
	until "$@"; do
		tries=$((tries + 1))
		[ $tries -le 200 ] || { echo "gave up waiting for $what"; exit 1; }
		sleep 0.05
	done
}

# count FILE WORD: the number that stands behind the word
count() {
	awk -v word="$2" '$1 == word { print $2 }' "$1"
}

same() {
	[ "$2" -eq "$3" ] && return
	echo "$1: the partner did $2, the bus counted $3"
	failed=1
}

socat "pty,raw,echo=0,link=$dir/near" "pty,raw,echo=0,link=$dir/far" &
socat_pid=$!
wait_until "the line" test -e "$dir/near" -a -e "$dir/far"
tests/partner_modbus "$dir/far" 32 "$seed" 100 >"$dir/partner" &
partner_pid=$!

failed=0
echo "seed $seed"
tests/bus_storm "$dir/near" 32 "$polls" >"$dir/bus" || failed=1
kill "$partner_pid"
wait "$partner_pid" || failed=1
partner_pid=
sed 's/^/partner: /' "$dir/partner"
sed 's/^/bus: /' "$dir/bus"

did() { count "$dir/partner" "$1"; }
counted() { count "$dir/bus" "$1"; }
same good "$(did good)" "$(counted read)"
same "corrupted or cut" $(($(did corrupted) + $(did cut))) "$(counted garbled)"
same late "$(did late)" "$(counted no_answer)"
same "wrong address" "$(did wrong_address)" "$(counted wrong_address)"
same exception "$(did exception)" "$(counted refused)"
exit $failed
