"""Every address for orders, their documents and deliveries, the check and labs: pages and API."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from orders.api.catalogues import CatalogueViewSet
from orders.api.check import CheckView
from orders.api.compare import CompareView
from orders.api.compare_frames import CompareFramesView
from orders.api.lab_callbacks import LabCallbackView
from orders.api.labs import LabOrderViewSet
from orders.api.orders import OrderViewSet
from orders.api.prices import PriceListViewSet
from orders.api.verify import VerifyView
from orders.views import (
    board,
    catalogues,
    checks,
    deciding,
    desk,
    desk_day,
    figures,
    finished,
    frames,
    handing_over,
    labs,
    lenses,
    notices,
    paper,
    period_figures,
    prices,
    remedies,
    sent,
    standards,
    usual,
)

router = SimpleRouter(use_regex_path=False)
router.register("orders", OrderViewSet, basename="api-order")
router.register("catalogues", CatalogueViewSet, basename="api-catalogue")
router.register("price-lists", PriceListViewSet, basename="api-price-list")
router.register("lab-orders", LabOrderViewSet, basename="api-lab-order")

api_calls = [
    path("check/", CheckView.as_view(), name="api-check"),
    path("compare/", CompareView.as_view(), name="api-compare"),
    path("verify/", VerifyView.as_view(), name="api-verify"),
    path("compare-frames/", CompareFramesView.as_view(), name="api-compare-frames"),
    path("lab-callbacks/<uuid:lab_id>/", LabCallbackView.as_view(), name="api-lab-callback"),
    *router.urls,
]

urlpatterns = [
    path("today/", desk_day.desk_day, name="desk-day"),
    path("today/to-collect.csv", desk_day.desk_day_csv, name="desk-day-csv"),
    path("orders/<uuid:order_id>/call/", desk_day.desk_call, name="desk-call"),
    path("orders/", board.order_list, name="order-list"),
    path("orders/orders.csv", board.order_list_csv, name="order-list-csv"),
    path("patients/<uuid:patient_id>/orders/new/", desk.order_start, name="order-start"),
    path("orders/<uuid:order_id>/", desk.order_page, name="order-page"),
    path("orders/<uuid:order_id>/live/", desk.order_live, name="order-live"),
    path("orders/<uuid:order_id>/remedies/", remedies.order_remedies, name="order-remedies"),
    path("orders/<uuid:order_id>/apply/", remedies.order_apply, name="order-apply"),
    path("orders/<uuid:order_id>/lenses/", lenses.order_lenses, name="order-lenses"),
    path("orders/<uuid:order_id>/lenses/take/", lenses.order_take_lens, name="order-take-lens"),
    path("orders/<uuid:order_id>/frames/", frames.order_frames, name="order-frames"),
    path("patients/<uuid:patient_id>/frames/", frames.patient_frames, name="patient-frames"),
    path("orders/<uuid:order_id>/settle/", desk.order_settle, name="order-settle"),
    path("orders/<uuid:order_id>/take-back/", desk.order_unsettle, name="order-unsettle"),
    path("orders/<uuid:order_id>/send/", sent.order_send, name="order-send"),
    path("orders/<uuid:order_id>/cancel/", desk.order_cancel, name="order-cancel"),
    path("orders/<uuid:order_id>/amend/", sent.order_amend, name="order-amend"),
    path("orders/<uuid:order_id>/decide/", deciding.order_decide, name="order-decide"),
    path("orders/<uuid:order_id>/remake/", deciding.order_remake, name="order-remake"),
    path("orders/<uuid:order_id>/hand-over/", handing_over.order_hand_over, name="order-hand-over"),
    path("orders/<uuid:order_id>/tray/", handing_over.order_tray, name="order-tray"),
    path("orders/<uuid:order_id>/paper/<str:kind>.pdf", paper.order_paper, name="order-paper"),
    path("orders/<uuid:order_id>/patients-copy/", handing_over.order_patients_copy, name="order-patients-copy"),
    path("orders/<uuid:order_id>/aftercare/", handing_over.order_aftercare, name="order-aftercare"),
    path("orders/<uuid:order_id>/what-differs/", handing_over.order_what_differs, name="order-what-differs"),
    path("orders/<uuid:order_id>/events/", sent.order_event, name="order-event"),
    path("orders/<uuid:order_id>/finished/", finished.finished_reading, name="finished-reading"),
    path("orders/<uuid:order_id>/finished/live/", finished.finished_live, name="finished-live"),
    path("orders/<uuid:order_id>/finished/pasted/", finished.finished_pasted, name="finished-pasted"),
    path("finished/", finished.finished_ticket, name="finished-ticket"),
    path("inspection-photos/<uuid:defect_photo_id>/", finished.inspection_photo, name="inspection-photo"),
    path("order-documents/<uuid:document_id>/order.pdf", sent.order_pdf, name="order-pdf"),
    path("order-documents/<uuid:document_id>/order.json", sent.order_json, name="order-json"),
    path("deliveries/<uuid:delivery_id>/retry/", sent.delivery_retry, name="delivery-retry"),
    path("deliveries/<uuid:delivery_id>/withhold/", sent.delivery_withhold, name="delivery-withhold"),
    path("deliveries/<uuid:delivery_id>/arrived/", sent.delivery_arrived, name="delivery-arrived"),
    path("deliveries/<uuid:delivery_id>/passed-on/", sent.delivery_passed_on, name="delivery-passed-on"),
    path("deliveries/<uuid:delivery_id>/reroute/", sent.delivery_reroute, name="delivery-reroute"),
    path("figures/lab-hand/", figures.lab_hand, name="lab-hand"),
    path("figures/lab-hand/pairs/", figures.lab_hand_pairs, name="lab-hand-pairs"),
    path("figures/lab-hand/chart.svg", figures.lab_hand_chart, name="lab-hand-chart"),
    path("orders/<uuid:order_id>/notice/", notices.order_notice, name="order-notice"),
    path("notices/", notices.notice_list, name="notice-list"),
    path("notices/<uuid:delivery_id>/change/", notices.notice_change, name="notice-change"),
    path("practice/notices/", notices.notice_settings, name="notice-settings"),
    path("figures/", period_figures.period_figures, name="figures"),
    path("figures/chart.svg", period_figures.period_chart, name="figures-chart"),
    path("checks/", checks.check_list, name="check-list"),
    path("checks/<str:rule_id>/", checks.check_page, name="check-page"),
    path("checks/<str:rule_id>/tighten/", checks.check_tighten, name="check-tighten"),
    path("checks/<str:rule_id>/silence/", checks.check_silence, name="check-silence"),
    path("checks/<str:rule_id>/restore/", checks.check_restore, name="check-restore"),
    path("standards/<str:standard>/", standards.standard_page, name="standard-page"),
    path("standards/<str:standard>/tighten/", standards.standard_tighten, name="standard-tighten"),
    path("standards/<str:standard>/restore/", standards.standard_restore, name="standard-restore"),
    path("labs/", labs.lab_list, name="lab-list"),
    path("labs/labs.csv", labs.lab_list_csv, name="lab-list-csv"),
    path("labs/new/", labs.lab_new, name="lab-new"),
    path("labs/<uuid:lab_id>/", labs.lab_page, name="lab-page"),
    path("labs/<uuid:lab_id>/usual/", usual.lab_usual, name="lab-usual"),
    path("labs/<uuid:lab_id>/catalogue/", catalogues.catalogue_import, name="catalogue-import"),
    path("labs/<uuid:lab_id>/token/", labs.lab_token, name="lab-token"),
    path("labs/<uuid:lab_id>/secret/", labs.lab_secret, name="lab-secret"),
    path("labs/<uuid:lab_id>/token/revoke/", labs.lab_token_revoke, name="lab-token-revoke"),
    path("labs/catalogues/<uuid:catalogue_id>/", catalogues.catalogue_page, name="catalogue-page"),
    path("labs/catalogues/<uuid:catalogue_id>/use/", catalogues.catalogue_use, name="catalogue-use"),
    path("labs/prices/", prices.price_page, name="price-page"),
    path("labs/prices/stop/", prices.price_stop, name="price-stop"),
    path("labs/prices/<uuid:prices_id>/", prices.price_look, name="price-look"),
    path("labs/prices/<uuid:prices_id>/use/", prices.price_use, name="price-use"),
    path("labs/prices/<uuid:prices_id>/prices.csv", prices.price_csv, name="price-csv"),
    path("catalogues/<uuid:catalogue_id>/catalogue.json", catalogues.catalogue_json, name="catalogue-json"),
    path("api/", include(api_calls)),
]
