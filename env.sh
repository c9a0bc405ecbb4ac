start () 
{ 
    cd /tmp/walk-home;
    ( /tmp/walk/lagwright $1 >> /tmp/walk-home/app.log 2>&1 & echo $! > /tmp/walk-home/app.pid );
    sleep 4;
    W=$(xdotool search --onlyvisible --name Lagwright | head -1);
    xdotool windowsize $W ${2:-1280} ${3:-800};
    sleep 1
}
