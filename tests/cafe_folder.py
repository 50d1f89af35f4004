"""A small valid cafe folder for tests, any file of which can be replaced.

write_folder(tmp_path)                                   the valid folder
write_folder(tmp_path, stock=None)                       without stock.csv
write_folder(tmp_path, stock="item,qty,...")             with another stock.csv
write_folder(tmp_path, stock=FILES["stock"] + "x,1,...") with a row more
edited("dishes", "step_portions", "soup", "7")           dishes.csv with one cell changed
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

FILES = {
    "cafe": """\
name = "The Test Bench"
currency = "AUD"
cup_ml = 250
tbsp_ml = 20
open_days = ["mon", "tue"]
week = 2026-11-30
plan_ahead_days = 3

[courses.salad]
slots = 1
price = 6.50
take_up = 0.5
portion_g = 150

[courses.main]
slots = 1
price = 12
take_up = 0.4
portion_g = 300

[plate]
main = 1
salad = 1

[kitchen]
oven_min = 120
cook_ahead_days = 1

[kitchen.hands_on_min]
mon = 300
tue = 360.5

[money]
waste_cost_pct = 90

[[rules]]
kind = "bar"
dish = "soup"
""",
    "ingredients": """\
ingredient,name,group,colour,form,piece_g,yield_pct,g_per_ml,keeps_days,opened_keeps_days,protein_g,lysine_mg_per_g_protein,allergens,diets_excluded,months,source
squash,Squash,gourd,orange,whole,1500,84,,30,4,1,,none,,3;4;5,bench
tofu,Tofu,soy,white,whole,450,100,,20,3,12,60,soybeans,,,bench
spinach,Spinach,leaf,green,loose,,72,0.13,4,2,2.9,61,,,,bench
quinoa,Quinoa,grain,white,dry,,100,0.72,365,365,14.1,54,none,,,bench
""",
    "suppliers": """\
supplier,name,delivers,lead_days,minimum_order,delivery_fee,cut_off
van,The Van,mon;tue;2026-12-05,1,50.00,7.5,14:00
""",
    "offers": """\
ingredient,supplier,pack_qty,pack_unit,price,from_date
squash,van,2,each,9.00,
squash,van,2,each,9.40,2026-11-01
squash,van,10,kg,28.05,
tofu,van,6,each,24.00,
spinach,van,1,kg,14.00,
quinoa,van,5,kg,40.00,
""",
    "dishes": """\
dish,name,course,portions,portion_g,step_portions,min_portions,max_portions,hold_days,hands_on_min,hands_on_min_per_10,oven_min,hob_min,processor_min,appeal,cuisine,method,served_as,price,cooked_yield_pct,oven_c,texture
cooked_quinoa,Cooked quinoa,component,10,100,5,5,50,3,5,1,,20,,1,house,simmered,cold,,300,,
quinoa_salad,Quinoa salad,salad,10,150,5,5,40,2,10,5,,,,1.2,house,raw,cold,7.00,,,crisp
tofu_salad,Tofu salad,salad,10,,5,5,40,1,10,5,,,,1,house,raw,cold,,,,
soup,Squash soup,main,10,300,5,10,60,3,15,5,45,20,5,1,house,simmered,hot,,,,
roast,Roast squash,main,10,300,5,10,60,2,15,5,60,,,0.9,house,roasted,hot,,,190,
""",
    "recipe_lines": """\
dish,item,qty,unit,yield_pct,visible,note
cooked_quinoa,quinoa,330,g,,yes,
quinoa_salad,cooked_quinoa,8,portion,,yes,
quinoa_salad,spinach,2,cup,,yes,"washed, torn"
tofu_salad,tofu,2.5,each,,yes,
tofu_salad,spinach,0.4,kg,,no,
soup,squash,2.4,kg,,yes,
roast,squash,2.8,kg,100,yes,skin on
""",
    "steps": """\
dish,step,text,minutes,station,ahead_days
soup,2,"Blend it
until smooth.",5,processor,0
soup,1,Roast the squash.,45,oven,1
""",
    "stock": """\
item,qty,unit,use_by,state
squash,3,each,2026-12-20,whole
squash,0.5,each,2026-12-01,opened
quinoa,2,kg,,whole
cooked_quinoa,6,portion,2026-12-01,cooked
squash,7.4,kg,2026-12-20,whole
""",
    "covers": """\
day,covers,low,high,chances
mon,40,30,55,
tue,50,,,
2026-12-01,70,60,90,60:0.25;70:0.5;90:0.25
""",
    "history": """\
date,dish,cooked,sold,binned,sold_out_at
2026-11-23,soup,20,18,2,
2026-11-24,soup,20,20,,13:10
""",
}


def file_name(stem: str) -> str:
    """The file that `stem` stands for."""
    return "cafe.toml" if stem == "cafe" else f"{stem}.csv"


def write_folder(path: Path, **overrides: str | bytes | None) -> Path:
    """Write the folder into `path`; None leaves a file out."""
    path.mkdir(parents=True, exist_ok=True)
    for stem, content in {**FILES, **overrides}.items():
        if content is not None:
            raw = content if isinstance(content, bytes) else content.encode()
            (path / file_name(stem)).write_bytes(raw)
    return path


def edited(stem: str, column: str, row_id: str, value: str) -> str:
    """A table with one cell changed: in the first row whose first cell is `row_id`."""
    rows = list(csv.reader(io.StringIO(FILES[stem])))
    place = rows[0].index(column)
    next(row for row in rows[1:] if row[0] == row_id)[place] = value
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()
