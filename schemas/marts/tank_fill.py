"""Tank fill: what stood in the tanks and how much was drawn."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Flag, Integer, Timestamp, column
from schemas.marts import shared


class TankFill(pa.DataFrameModel):
    """One row per fill of a tank.

    A fill begins with the filling of a drained tank or with another furnish; it ends when the tank is
    drained or the next fill begins.
    """

    tank: str = column("Stock tank.")
    fill_no: Integer = column("Fill of the tank, counted from 1.", unit="1")
    furnish: str = columns.furnish
    previous_furnish: str = column("Furnish of the fill before.", nullable=True)
    filled_at_utc: Timestamp = column("Time at which the fill began, in UTC.", unit="UTC")
    ended_at_utc: Timestamp = column(
        "Time at which the tank was drained or the next fill began, in UTC.", unit="UTC", nullable=True
    )
    carry_over: Flag = shared.carry_over
    filled_l: float = column(
        "Stock filled into the tank, top-ups included; missing where one of the volumes is missing.",
        unit="L",
        nullable=True,
    )
    n_layers: Integer = column("Number of layers sprayed from the fill before it ended.", unit="1")
    drawn_l: float = column("Stock sprayed for those layers.", unit="L")
    overdrawn_l: float = column(
        "Stock sprayed in excess of the stock filled in; above 0 one of the logs is wrong.",
        unit="L",
        nullable=True,
    )

    class Config:
        name = "tank_fill"
        strict = True
