"""The routes of the desks: stock, units, corrections, deals, orders, questions, alerts, people."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter

from tracker.web.pages import (
    alerts,
    batches,
    catalogue,
    claims,
    corrections,
    glance,
    holds,
    live,
    orders,
    people,
    questions,
    reports,
    sales,
    stock,
    unit,
    work_orders,
)

ROUTERS: Final[tuple[APIRouter, ...]] = (
    alerts.router,
    batches.router,
    catalogue.router,
    claims.router,
    corrections.router,
    glance.router,
    holds.router,
    live.router,
    orders.router,
    people.router,
    questions.router,
    reports.router,
    sales.router,
    stock.router,
    unit.router,
    work_orders.router,
)
