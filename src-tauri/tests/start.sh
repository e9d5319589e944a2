#!/bin/sh
# Starts the installed desktop on a clean root, until its window stands and its demo shelf is made; a picture is left.
set -eu
test -f /usr/share/applications/airshelf-desktop.desktop
test -f /usr/share/icons/hicolor/128x128/apps/airshelf-desktop.png
cat > /opt/within.sh <<'WITHIN'
set -eu
airshelf-desktop --data /opt/data --demo &
program=$!
for tries in $(seq 120); do
  if xdotool search --onlyvisible --name '^airshelf$' >/dev/null 2>&1; then break; fi
  kill -0 "$program"
  sleep 0.5
done
xdotool search --onlyvisible --name '^airshelf$' >/dev/null
sleep 5
scrot --overwrite /opt/clean-root.png
test -s /opt/data/demo/airshelf.db
kill -TERM "$program"
wait "$program"
WITHIN
export HOME=/root WEBKIT_DISABLE_DMABUF_RENDERER=1
xvfb-run --auto-servernum --server-args='-screen 0 1200x884x24' dbus-run-session -- sh /opt/within.sh
echo 'the installed desktop starts on a clean root'
