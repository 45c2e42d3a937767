"""Formulas of the lines of one direction of a hop; physics under the names of the budget."""

import numpy as np

from backhaul.physics import (
    antennas,
    free_space,
    gas,
    geometry,
    interference,
    multipath,
    multipath_time,
    rain,
    sectors,
)

#: Time for which the rain law is still published [%].
LEAST_RAIN_PERCENT = rain.RANGES["percent_of_time"][0]


def slant_km(*, distance_km, height1_m, height2_m):
    return geometry.slant_range_km(
        distance_km=distance_km, height1_m=height1_m, height2_m=height2_m
    )


def eirp_dbm(*, tx_power_dbm, tx_gain_dbi):
    return free_space.eirp_dbm(power_dbm=tx_power_dbm, gain_dbi=tx_gain_dbi, loss_db=0)


def free_space_loss_db(*, slant_km, frequency_ghz):
    return free_space.free_space_loss_db(distance_km=slant_km, frequency_ghz=frequency_ghz)


def gas_loss_db(*, slant_km, gas_db_per_km):
    return gas.gas_loss_db(distance_km=slant_km, gas_db_per_km=gas_db_per_km)


def path_loss_db(*, free_space_loss_db, gas_loss_db, diffraction_loss_db):
    return free_space_loss_db + gas_loss_db + diffraction_loss_db


def received_hub_dbm(*, eirp_dbm, path_loss_db, rx_gain_dbi, extra_loss_db, off_axis_loss_db):
    return (
        received_dbm(
            eirp_dbm=eirp_dbm,
            path_loss_db=path_loss_db,
            rx_gain_dbi=rx_gain_dbi,
            extra_loss_db=extra_loss_db,
        )
        - off_axis_loss_db
    )


def received_dbm(*, eirp_dbm, path_loss_db, rx_gain_dbi, extra_loss_db):
    return free_space.received_dbm(
        eirp_dbm=eirp_dbm, path_loss_db=path_loss_db, gain_dbi=rx_gain_dbi, loss_db=extra_loss_db
    )


def off_axis_from_hub_db(*, off_axis_deg, beam_deg, tx_gain_dbi):
    return sectors.sector_loss_db(
        angle_deg=off_axis_deg, beamwidth_deg=beam_deg, gain_dbi=tx_gain_dbi
    )


def off_axis_to_hub_db(*, off_axis_deg, to_beam_deg, rx_gain_dbi):
    return sectors.sector_loss_db(
        angle_deg=off_axis_deg, beamwidth_deg=to_beam_deg, gain_dbi=rx_gain_dbi
    )


def on_axis_db(*, off_axis_deg):
    return off_axis_deg * 0


def received_chain_dbm(*, received_dbm, chains):
    return received_dbm - 10 * np.log10(chains)


def pointing_loss_db(*, sway_deg, to_sway_deg, beam_deg, to_beam_deg, tx_gain_dbi, rx_gain_dbi):
    return antennas.aim_loss_db(
        angle_deg=sway_deg, beamwidth_deg=beam_deg, gain_dbi=tx_gain_dbi
    ) + antennas.aim_loss_db(angle_deg=to_sway_deg, beamwidth_deg=to_beam_deg, gain_dbi=rx_gain_dbi)


def no_pointing_loss_db(*, sway_deg):
    return sway_deg * 0


def noise_dbm(*, channel_mhz, noise_figure_db):
    return free_space.noise_floor_dbm(bandwidth_mhz=channel_mhz, noise_figure_db=noise_figure_db)


def typed_rise_db(*, typed_noise_rise_db):
    return typed_noise_rise_db + 0


def noise_rise_db(*, typed_noise_rise_db, interference_dbm, noise_dbm):
    return typed_noise_rise_db + interference.noise_rise_db(
        interference_dbm=interference_dbm, noise_dbm=noise_dbm
    )


def rain_db_per_km(*, rain_k, rain_alpha, rain_rate_mm_h):
    return rain.specific_attenuation_db_per_km(
        k=rain_k, alpha=rain_alpha, rain_mm_per_h=rain_rate_mm_h
    )


def distance_factor(*, distance_km, frequency_ghz, rain_alpha, rain_rate_mm_h):
    return rain.distance_factor(
        distance_km=distance_km,
        frequency_ghz=frequency_ghz,
        alpha=rain_alpha,
        rain_mm_per_h=rain_rate_mm_h,
    )


def rain_0_01_db(*, rain_db_per_km, distance_km, distance_factor):
    return rain.exceeded_0_01_db(
        rain_db_per_km=rain_db_per_km, distance_km=distance_km, distance_factor=distance_factor
    )


def rain_0_001_db(*, rain_0_01_db, frequency_exponent):
    return rain.exceeded_db(
        exceeded_0_01_db=rain_0_01_db,
        frequency_exponent=frequency_exponent,
        percent=LEAST_RAIN_PERCENT,
    )


def transition_db(*, occurrence_percent):
    return multipath_time.transition_db(occurrence_percent=occurrence_percent)


def year_transition_percent(*, transition_percent, year_gain_db):
    return multipath_time.year_percent(
        worst_month_percent=transition_percent, year_gain_db=year_gain_db
    )


def transition_q(*, transition_db, year_transition_percent):
    return multipath_time.transition_q(
        transition_db=transition_db, transition_percent=year_transition_percent
    )


def inclination_mrad(*, distance_km, height1_m, height2_m):
    return multipath.inclination_mrad(
        distance_km=distance_km, height1_m=height1_m, height2_m=height2_m
    )


#: Directions from the hub of a hop, to it, and without one: how their lines differ.
FROM_HUB, TO_HUB, NO_HUB = "from hub", "to hub", "no hub"
OFF_AXIS_DB = {FROM_HUB: off_axis_from_hub_db, TO_HUB: off_axis_to_hub_db, NO_HUB: on_axis_db}
RECEIVED_DBM = {FROM_HUB: received_hub_dbm, TO_HUB: received_hub_dbm, NO_HUB: received_dbm}
