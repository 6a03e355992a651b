"""Label stock as data: one TOML file a stock, its name the file's name without ".toml".

All lengths are in mm. x runs along the text, y across it. Fields:

    schema = 1
    title = "Flag, tape 12 mm"       what a person reads, at most 60 characters
    note = "..."                     how to use it (may be left out)
    kind = "flag"                    sleeve  printed heat-shrink tube, printed flat
                                     flag    folded round the wire, text on both faces
                                     wrap    printed part and a clear tail that covers it
                                     strip   plain paper under clear heat-shrink
                                     plate   flat, for spools, joints and cards
    medium = "tape"                  tape    continuous, cut to length
                                     ladder  single pieces one after another on a carrier
                                     sheet   rows and columns on a page, for an ordinary printer
    resolutions_dpi = [300, 203]     of 180, 203, 300, 360, 600; the first is the usual one

    [label]
    length_mm = 25.0                 along the text; [20.0, 60.0] is the least and most (tape only)
    height_mm = 12.0                 across it; for a sleeve the flat width of the tube
    margin_x_mm = 1.0                what the printer can't reach, on each side
    margin_y_mm = 1.0
    thickness_mm = 0.15              of the material (may be left out: 0)
    printed_mm = 12.7                wrap only: height of the part that takes print; its upper
                                     edge goes onto the wire first, its last turn is what is seen

    [sleeve]                         sleeve only: inside diameters as delivered and fully
    expanded_mm = 2.36               recovered, and the recovered wall
    recovered_mm = 1.17
    wall_mm = 0.50

    [tape]                           tape only; [ladder] has the same fields
    width_mm = 12.0                  of the tape or carrier
    gap_mm = 0.0                     between two labels along the feed

    [sheet]                          sheet only
    page = "A4"                      A4 or Letter
    columns = 3
    rows = 18
    left_mm = 7.5                    of the first label
    top_mm = 13.5
    gap_x_mm = 0.0                   between labels
    gap_y_mm = 0.0

A file with anything else in it is refused, with all its faults at once. Files of the same form in the
folder `stock` beside a person's settings.toml are merged in.
"""
