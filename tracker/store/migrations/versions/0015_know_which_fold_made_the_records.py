"""Know by which version of the fold the records were made.

Where there are histories, it was the first; a rebuild brings the records up to date and says so.
Where there are none, nothing needs to be rebuilt: whoever raises the version writes a migration
that says so there, as `_NOTHING_TO_REBUILD` does.
"""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

_BEGIN = "INSERT INTO folded (version) VALUES (1)"
_NOTHING_TO_REBUILD = "UPDATE folded SET version = 2 WHERE NOT EXISTS (SELECT FROM heads)"
_GRANTS = """
GRANT SELECT, UPDATE ON folded TO hardstand_worker;
GRANT SELECT ON folded TO hardstand_web, hardstand_reader;
"""


def upgrade() -> None:
    op.create_table(
        "folded",
        sa.Column(
            "version",
            sa.SmallInteger(),
            nullable=False,
            comment="of the fold that made all records",
        ),
        sa.PrimaryKeyConstraint("version", name="pk_folded"),
        comment="one row: set by a rebuild, and by migrations where there is no history yet",
    )
    op.execute(_BEGIN)
    op.execute(_NOTHING_TO_REBUILD)
    op.execute(_GRANTS)


def downgrade() -> None:
    op.drop_table("folded")
