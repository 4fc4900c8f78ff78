"""Addresses of what is on the ground."""

from django.urls import path

from heaps.views import at_heap, donors, drop_off, imports, labels, loads, public, set_up
from heaps.views.add import what_to_add
from heaps.views.at_gate import at_gate
from heaps.views.board import board
from heaps.views.carried import carried
from heaps.views.climate import climate
from heaps.views.codes import bay_code, site_codes
from heaps.views.collect import collect
from heaps.views.coordinators import coordinators
from heaps.views.fit import fit
from heaps.views.guide import chapter, guide
from heaps.views.heap import heap
from heaps.views.home import home
from heaps.views.hot import hot
from heaps.views.kept import kept
from heaps.views.materials import add_material, material, materials
from heaps.views.mine import mine
from heaps.views.more import more
from heaps.views.nitrogen import nitrogen
from heaps.views.past import past
from heaps.views.permissions import permissions, site_permissions
from heaps.views.stock import calls, stock
from heaps.views.sync import sync
from heaps.views.targets import targets
from heaps.views.tray import tray
from heaps.views.tub import tub
from heaps.views.year import this_year, who_gave, year, year_csv

app_name = "heaps"
urlpatterns = [
    path("", home, name="home"),
    path("drop-off/", drop_off.drop_off, name="drop_off"),
    path("drop-off/more/", more, name="more"),
    path("drop-off/kept/", kept, name="kept"),
    path("drop-off/now/", drop_off.now, name="now"),
    path("heaps/", board, name="board"),
    path("heaps/what-to-add/", what_to_add, name="what_to_add"),
    path("heaps/<uuid:uid>/", heap, name="heap"),
    path("heaps/<uuid:uid>/fit/", fit, name="fit"),
    path("heaps/<uuid:uid>/hot/", hot, name="hot"),
    path("heaps/<uuid:uid>/nitrogen/", nitrogen, name="nitrogen"),
    path("stock/", stock, name="stock"),
    path("stock/<uuid:uid>/calls/", calls, name="calls"),
    path("heaps/<uuid:uid>/signs/", at_heap.signs, name="signs"),
    path("heaps/<uuid:uid>/heat/", at_heap.heat, name="heat"),
    path("heaps/<uuid:uid>/ready/", at_heap.ready, name="ready"),
    path("tub/", tub, name="tub"),
    path("bags/<uuid:uid>/label/", labels.label, name="label"),
    path("collect/", collect, name="collect"),
    path("year/", this_year, name="this_year"),
    path("year/<int:year>/", year, name="year"),
    path("year/<int:year>/came-and-went.csv", year_csv, name="year_csv"),
    path("year/<int:year>/who-gave/", who_gave, name="who_gave"),
    path("loads/<uuid:uid>/", loads.load, name="load"),
    path("loads/<uuid:uid>/giver/", loads.giver, name="giver"),
    path("loads/<uuid:uid>/bean-tests/add/", loads.add_bean_test, name="add_bean_test"),
    path("loads/<uuid:uid>/bean-tests/<int:number>/", loads.bean_test, name="bean_test"),
    path("past-forecasts/", past, name="past"),
    path("guide/", guide, name="guide"),
    path("guide/<slug:key>/", chapter, name="guide_chapter"),
    path("site/<uuid:uid>/", public.site, name="public_site"),
    path("site/<uuid:uid>/<uuid:bay>/", public.bay, name="public_bay"),
    path("me/", mine, name="mine"),
    path("tray/", tray, name="tray"),
    path("tray/from-a-phone/", carried, name="carried"),
    path("sync/", sync, name="sync"),
    path("set-up/", set_up.set_up, name="set_up"),
    path("set-up/sites/add/", set_up.add_site, name="add_site"),
    path("set-up/sites/<uuid:uid>/", set_up.site, name="site"),
    path("set-up/sites/<uuid:uid>/coordinators/", coordinators, name="coordinators"),
    path("set-up/sites/<uuid:uid>/gate/", at_gate, name="at_gate"),
    path("set-up/sites/<uuid:uid>/climate/", climate, name="climate"),
    path("set-up/imports/", imports.imports, name="imports"),
    path("set-up/imports/<uuid:uid>/", imports.one, name="import"),
    path("set-up/imports/<uuid:uid>/left-out.csv", imports.left_out, name="left_out"),
    path("set-up/permissions/", permissions, name="permissions"),
    path("set-up/sites/<uuid:uid>/permissions/", site_permissions, name="site_permissions"),
    path("set-up/sites/<uuid:uid>/codes/", site_codes, name="site_codes"),
    path("set-up/sites/<uuid:uid>/bays/add/", set_up.add_bay, name="add_bay"),
    path("set-up/sites/<uuid:uid>/containers/add/", set_up.add_container, name="add_container"),
    path("set-up/bays/<uuid:uid>/", set_up.bay, name="bay"),
    path("set-up/bays/<uuid:uid>/code/", bay_code, name="bay_code"),
    path("set-up/bays/<uuid:uid>/take-away/", set_up.take_bay_away, name="take_bay_away"),
    path("set-up/bays/<uuid:uid>/already-in-it/", set_up.opening, name="opening"),
    path("set-up/donors/", donors.donors, name="donors"),
    path("set-up/donors/add/", donors.add_donor, name="add_donor"),
    path("set-up/donors/<uuid:uid>/", donors.donor, name="donor"),
    path("set-up/donors/<uuid:uid>/erase/", donors.erase_donor, name="erase_donor"),
    path("set-up/targets/", targets, name="targets"),
    path("set-up/materials/", materials, name="materials"),
    path("set-up/materials/add/", add_material, name="add_material"),
    path("set-up/materials/<slug:key>/", material, name="material"),
    path("set-up/containers/<uuid:uid>/", set_up.container, name="container"),
    path("set-up/containers/<uuid:uid>/take-away/", set_up.take_container_away, name="take_container_away"),
]
