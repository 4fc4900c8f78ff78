"""A recount of the totals in plain SQL, sharing no code with what keeps them. Sites must be on UTC."""

from datetime import date
from typing import Any

from django.db import connection

from heaps.science.feedstocks import FEEDSTOCKS

# Each original with its latest correction of the same site; then the fields as they stand.
QUERY = """
WITH density (feedstock, kg_m3) AS (VALUES {densities}),
answer AS (
    SELECT corrects, site_id, details,
           ROW_NUMBER() OVER (PARTITION BY site_id, corrects ORDER BY effective_at DESC, uid DESC) AS place
    FROM heaps_entry WHERE kind = 'correction' AND (details ->> 'says') <> 'stands'
),
stands AS (
    SELECT e.site_id, e.kind,
           CASE WHEN changed THEN a.details ->> 'bay' ELSE {bay_uid} END AS bay,
           CASE WHEN changed THEN COALESCE({typed_day}, {day}) ELSE {day} END AS day,
           CASE WHEN changed THEN a.details -> 'details' ELSE {details} END AS said
    FROM (SELECT x.*, b.uid AS bay_uid FROM heaps_entry x LEFT JOIN heaps_bay b ON b.id = x.bay_id) e
    LEFT JOIN (SELECT answer.*, (details ->> 'says') = 'instead' AS changes FROM answer WHERE place = 1) a
        ON a.corrects = e.uid AND a.site_id = e.site_id
    WHERE e.kind <> 'correction' AND COALESCE(a.details ->> 'says', '') <> 'withdraw'
),
loads AS (
    SELECT site_id, bay, day, said ->> 'feedstock' AS feedstock,
           CAST(said ->> 'weighed_g' AS BIGINT) AS weighed_g,
           CAST(said ->> 'half_containers' AS BIGINT) * CAST(said ->> 'container_ml' AS BIGINT) / 2 AS volume_ml
    FROM stands WHERE kind = 'dropoff'
)
SELECT bay, day, CASE WHEN loads.feedstock = 'screened-oversize' THEN 'returned' ELSE 'came in' END, loads.feedstock,
       CASE WHEN weighed_g IS NULL THEN 'estimated' ELSE 'weighed' END,
       COUNT(*), SUM(COALESCE(weighed_g, (volume_ml * kg_m3 + 500) / 1000)), SUM(volume_ml), 0, 0, 0, 0
FROM loads JOIN density ON density.feedstock = loads.feedstock
GROUP BY 1, 2, 3, 4, 5
UNION ALL
SELECT bay, day, 'harvested', said ->> 'sieved', '', COUNT(*), 0,
       SUM(CAST(said ->> 'half_bags' AS BIGINT) * CAST(said ->> 'bag_ml' AS BIGINT) / 2),
       SUM(CAST(said ->> 'half_bags' AS BIGINT)), 0, 0, 0
FROM stands WHERE kind = 'harvest' GROUP BY 1, 2, 3, 4, 5
UNION ALL
SELECT NULL, day, 'collected', '', '', COUNT(*), 0,
       SUM(CAST(said ->> 'half_bags' AS BIGINT) * CAST(said ->> 'bag_ml' AS BIGINT) / 2),
       SUM(CAST(said ->> 'half_bags' AS BIGINT)), 0, 0, 0
FROM stands WHERE kind = 'collection' GROUP BY 1, 2, 3, 4, 5
UNION ALL
SELECT NULL, day, 'hours', '', '', COUNT(*), 0, 0, 0,
       SUM(CAST(said ->> 'minutes' AS BIGINT) * CAST(said ->> 'people' AS BIGINT)), 0, 0
FROM stands WHERE kind = 'hours' GROUP BY 1, 2, 3, 4, 5
UNION ALL
SELECT bay, day, 'refused', said ->> 'feedstock', '', COUNT(*), 0,
       SUM(COALESCE(CAST(said ->> 'half_containers' AS BIGINT) * CAST(said ->> 'container_ml' AS BIGINT) / 2, 0)),
       0, 0, 0, 0
FROM stands WHERE kind = 'refused_load' GROUP BY 1, 2, 3, 4, 5
UNION ALL
SELECT bay, day, 'mulched', '', '', COUNT(*), 0, 0, 0, 0, 0, SUM(CAST(said ->> 'tenths_m2' AS BIGINT))
FROM stands WHERE kind = 'spread' GROUP BY 1, 2, 3, 4, 5
UNION ALL
SELECT bay, day, 'gatherings', said ->> 'sort', '', COUNT(*), 0, 0, 0, 0, SUM(CAST(said ->> 'people' AS BIGINT)), 0
FROM stands WHERE kind = 'session' GROUP BY 1, 2, 3, 4, 5
UNION ALL
SELECT bay, day, 'incidents', said ->> 'what', '', COUNT(*), 0, 0, 0, 0, 0, 0
FROM stands WHERE kind = 'incident' GROUP BY 1, 2, 3, 4, 5
"""

SQLITE = {
    "bay_uid": "substr(bay_uid,1,8)||'-'||substr(bay_uid,9,4)||'-'||substr(bay_uid,13,4)||'-'"
    "||substr(bay_uid,17,4)||'-'||substr(bay_uid,21)",
    "day": "date(e.effective_at)",
    "typed_day": "date(a.details ->> 'occurred_at')",
    "details": "json(e.details)",
}
POSTGRESQL = {
    "bay_uid": "CAST(bay_uid AS TEXT)",
    "day": "CAST(e.effective_at AT TIME ZONE 'UTC' AS DATE)",
    "typed_day": "CAST(CAST(a.details ->> 'occurred_at' AS TIMESTAMPTZ) AT TIME ZONE 'UTC' AS DATE)",
    "details": "e.details",
}


def recounted() -> dict[tuple[Any, ...], tuple[int, ...]]:
    """The totals as plain SQL finds them: (bay uid, day, what, detail, basis) -> its seven sums."""
    words = SQLITE if connection.vendor == "sqlite" else POSTGRESQL
    densities = ", ".join(
        f"('{one.key}', {int(one.bulk_density_kg_m3.typical)})" for one in FEEDSTOCKS.values() if one.bulk_density_kg_m3
    )
    query = QUERY.format(densities=densities, **words).replace("WHEN changed", "WHEN COALESCE(a.changes, {no})")
    query = query.replace("{no}", "0" if connection.vendor == "sqlite" else "FALSE")
    with connection.cursor() as cursor:
        cursor.execute(query)
        rows = cursor.fetchall()
    return {(row[0], _day(row[1]), *row[2:5]): tuple(int(value) for value in row[5:]) for row in rows}


def _day(raw: Any) -> date:
    return raw if isinstance(raw, date) else date.fromisoformat(raw)
