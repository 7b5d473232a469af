"""Where each page lies."""

from collections.abc import Callable
from importlib import import_module

from django.http import HttpRequest, HttpResponse
from django.urls import path


def _view(where: str) -> Callable[..., HttpResponse]:
    """Return a view that is imported when first asked for, so that light commands stay light."""
    module, name = where.split(".")

    def answer(request: HttpRequest, *args: str, **given: str) -> HttpResponse:
        return getattr(import_module(f"ortet.pages.views.{module}"), name)(request, *args, **given)

    answer.__name__ = name
    return answer


urlpatterns = [
    # To look at
    path("", _view("today.today"), name="today"),
    path("today/done", _view("today.done"), name="today-done"),
    path("lots", _view("lots.lots"), name="lots"),
    path("lots.csv", _view("lots.lots_table"), name="lots-table"),
    path("lots/<str:code>", _view("lots.lot"), name="lot"),
    path("places", _view("places.places"), name="places"),
    path("places.csv", _view("places.places_table"), name="places-table"),
    path("places/<str:code>", _view("places.place"), name="place"),
    path("batches", _view("batches.batches"), name="batches"),
    path("batches.csv", _view("batches.batches_table"), name="batches-table"),
    path("batches/<str:code>", _view("batches.batch"), name="batch"),
    path("batches/<str:code>/label.pdf", _view("batches.batch_label"), name="batch-label"),
    path("mothers", _view("mothers.mothers"), name="mothers"),
    path("mothers.csv", _view("mothers.mothers_table"), name="mothers-table"),
    path("mothers/<path:accession>", _view("mothers.mother"), name="mother"),
    path("wanted", _view("wishes.wanted"), name="wanted"),
    path("wanted.csv", _view("wishes.order_table"), name="wanted-table"),
    path("wanted/ourselves", _view("wishes.wanted_ourselves"), name="wanted-ourselves"),
    path("wanted/ourselves.csv", _view("wishes.target_table"), name="wanted-ourselves-table"),
    path("orders/<int:number>", _view("wishes.the_order"), name="order-of"),
    path("evidence", _view("evidence.evidence"), name="evidence"),
    path("evidence.csv", _view("evidence.evidence_table"), name="evidence-table"),
    path("evidence/<path:name>", _view("evidence.variety"), name="evidence-of"),
    path("plan", _view("plan.plan"), name="plan"),
    path("plan/take.csv", _view("plan.cuts_table"), name="plan-cuts"),
    path("plan/who.csv", _view("plan.picks_table"), name="plan-picks"),
    path("plan/benches.csv", _view("plan.slots_table"), name="plan-slots"),
    path("plan/sheet.pdf", _view("plan_sheet.plan_sheet"), name="plan-sheet"),
    path("plan/benches", _view("plan_benches.benches"), name="plan-benches"),
    path("plan/benches/look", _view("plan_benches.look"), name="plan-look"),
    path("trace", _view("trace.trace"), name="trace"),
    path("trace/recall", _view("trace.recall"), name="recall"),
    path("trace/recall.csv", _view("trace.recall_table"), name="recall-table"),
    path("trials", _view("trials.trials"), name="trials"),
    path("trials/hints", _view("trials.hints"), name="trial-hints"),
    path("trials/<int:number>", _view("trials.trial"), name="trial"),
    path("trials/<int:number>/map.pdf", _view("trials.tray_map"), name="trial-map"),
    path("trials/<int:number>/labels.pdf", _view("trials.labels"), name="trial-labels"),
    path("trials/<int:number>/plots/<int:plot>", _view("trials.plot"), name="trial-plot"),
    path("t/<int:number>", _view("trials.from_label"), name="from-trial-label"),
    path("t/<int:number>/<int:plot>", _view("trials.from_label"), name="from-plot-label"),
    path("T/<int:number>", _view("trials.from_label")),  # as printed: capitals make a smaller code
    path("T/<int:number>/<int:plot>", _view("trials.from_label")),
    path("l/<str:code>", _view("lots.from_label"), name="from-label"),
    path("L/<str:code>", _view("lots.from_label")),  # as printed: capitals make a smaller code
    path("photos/<uuid:id>.jpg", _view("photos.photo"), name="photo"),
    path("shed", _view("shed.shed"), name="shed"),
    path("shed/book.json", _view("shed.book"), name="shed-book"),
    path("shed/records", _view("shed.records"), name="shed-records"),
    path("shed-worker.js", _view("shed.worker"), name="shed-worker"),
    path("parcels", _view("receiving.parcels"), name="parcels"),
    path("parcels.csv", _view("receiving.parcels_table"), name="parcels-table"),
    path("parcels/<int:number>", _view("receiving.parcel"), name="parcel"),
    path("parcels/<int:number>/whole", _view("receiving.whole"), name="parcel-whole"),
    path("parcels/<int:number>/line", _view("receiving.add_line"), name="parcel-line"),
    path("parcels/<int:number>/<int:line>/drop", _view("receiving.drop"), name="parcel-drop"),
    path("parcels/<int:number>/<int:line>/<slug:at>", _view("receiving.step"), name="parcel-step"),
    path("parcels/<int:number>/photo", _view("receiving.photo"), name="parcel-photo"),
    path("parcels/<int:number>/finish", _view("receiving.finish"), name="parcel-finish"),
    path("parcels/<int:number>/discard", _view("receiving.discard"), name="parcel-discard"),
    path("parcels/<int:number>/claim.pdf", _view("receiving.claim"), name="parcel-claim"),
    path("record", _view("today.record"), name="record"),
    # Deeds: a form each, at do/<deed>
    path("do/take", _view("deeds.take"), name="take"),
    path("do/receive", _view("receiving.receive"), name="receive"),
    path("do/bag", _view("deeds.bag"), name="bag"),
    path("do/weigh", _view("deeds.weigh"), name="weigh"),
    path("do/inspect", _view("deeds.inspect"), name="inspect"),
    path("do/treat", _view("deeds.treat"), name="treat"),
    path("do/move", _view("deeds.move"), name="move"),
    path("do/stand", _view("deeds.stand"), name="stand"),
    path("do/split", _view("deeds.split"), name="split"),
    path("do/strike", _view("growing.strike"), name="strike"),
    path("do/design-trial", _view("trials.design_trial"), name="design-trial"),
    path("do/strike-trial", _view("trials.strike_trial"), name="strike-trial"),
    path("do/graft", _view("growing.graft"), name="graft"),
    path("do/count", _view("growing.count"), name="count"),
    path("do/pot", _view("growing.pot"), name="pot"),
    path("do/sell", _view("growing.sell"), name="sell"),
    path("do/buyer", _view("growing.buyer"), name="buyer"),
    path("do/give-up", _view("deeds.give_up"), name="give-up"),
    path("do/note", _view("deeds.note"), name="note"),
    path("do/correct", _view("deeds.correct"), name="correct"),
    path("do/withdraw", _view("deeds.withdraw"), name="withdraw"),
    path("do/add-mother", _view("deeds.add_mother"), name="add-mother"),
    path("do/add-place", _view("deeds.add_place"), name="add-place"),
    path("do/order", _view("wishes.order"), name="order"),
    path("do/want", _view("wishes.want"), name="want"),
    path("do/cancel", _view("wishes.cancel"), name="cancel"),
    path("do/limit", _view("wishes.limit"), name="limit"),
    path("do/set-up-bench", _view("wishes.set_up_bench"), name="set-up-bench"),
    path("do/plan", _view("plan.plan_season"), name="plan-season"),
    path("do/give", _view("plan.give"), name="give"),
    path("do/set-batch", _view("plan.set_batch"), name="set-batch"),
    path("do/let-choose", _view("plan.let_choose"), name="let-choose"),
    # The rest of the house
    path("labels", _view("labels.labels"), name="labels"),
    path("mix", _view("mix.mix"), name="mix"),
    path("race", _view("race.race"), name="race"),
    path("cut", _view("cut.cut"), name="cut"),
    path("match", _view("match.match"), name="match"),
    path("sample", _view("sample.sample"), name="sample"),
    path("mixup", _view("mixup.mixup"), name="mixup"),
    path("scan", _view("scan.scan"), name="scan"),
    path("nameless", _view("scan.nameless"), name="nameless"),
    path("load", _view("load.load"), name="load"),
    path("docs", _view("docs.docs"), name="docs"),
    path("docs/<path:name>", _view("docs.page"), name="docs-page"),
    path("nursery", _view("nursery.nursery"), name="nursery"),
    path("archive.zip", _view("exchange.archive"), name="archive"),
    path("check", _view("check.check"), name="check"),
    path("phones", _view("phones.phones"), name="phones"),
    path("pair", _view("pair.by_code"), name="pair"),
    path("pair/<str:token>", _view("pair.by_scan"), name="pair-by-scan"),
    path("sign-in", _view("hands.sign_in"), name="sign-in"),
    path("sign-out", _view("hands.sign_out"), name="sign-out"),
]
