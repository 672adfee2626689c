for i in 1 2 3 4 5 6 7 8 9 10; do timeout 60 /work/target-scpi/debug/deps/meter-f7f901e44fc411d1 2>&1 | grep -E "^test result|FAILED|panicked"; done
