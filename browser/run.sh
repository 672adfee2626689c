#!/usr/bin/env bash
# Drives the pages in a real browser. Installs what the tests need; the program itself needs none of it.
set -euo pipefail
cd "$(dirname "$0")"
command -v chromium >/dev/null && command -v pdftoppm >/dev/null || { apt-get update -qq && apt-get install -y -qq chromium fonts-dejavu-core poppler-utils >/dev/null; }
[ -d node_modules/@types/node ] || npm ci --no-audit --no-fund --silent
node_modules/.bin/tsc --project tsconfig.json
node_modules/.bin/tsc --project tsconfig.tests.json
node --test --test-reporter=spec ./*.test.mjs
