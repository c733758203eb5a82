// How the batch file and the certificate write what both have: runs, calibrations, parts of a plan.
#pragma once

#include "analysis/batch/runs/members.hpp"
#include "analysis/batch/runs/tested_run.hpp"
#include "analysis/sampling/double_plan.hpp"
#include "analysis/statistics/stopping/two_point.hpp"

#include <nlohmann/json.hpp>

#include <cstdint>
#include <string>
#include <tuple>

namespace dropledger::batch {

// More than a bench can drop in months: beyond it somebody wants to exhaust the reader.
inline constexpr std::int64_t most_drops = 10'000'000;

template <> struct Members<RunConditions> {
    static constexpr std::tuple list{
        Member{"bench", &RunConditions::bench},
        Member{"operator", &RunConditions::operated_by},
        Member{"firmware", &RunConditions::firmware},
        Member{"crop", &RunConditions::crop},
        Member{"seed_lot", &RunConditions::seed_lot},
        Member{"thousand_seed_mass_mg", &RunConditions::thousand_seed_mass_mg},
        Member{"mode", &RunConditions::mode},
        Member{"spacing_um", &RunConditions::spacing_um},
        Member{"count", &RunConditions::count},
        Member{"rate_per_m_milli", &RunConditions::rate_per_m_milli},
        Member{"speed_um_s", &RunConditions::speed_um_s}};
};

template <> struct Members<BootSpan> {
    static constexpr std::tuple list{Member{"boot", &BootSpan::boot},
                                     Member{"first_seq", &BootSpan::first_seq},
                                     Member{"last_seq", &BootSpan::last_seq}};
};

template <> struct Members<LimitResult> {
    static constexpr std::tuple list{
        Member{"limit", &LimitResult::limit}, Member{"estimate", &LimitResult::estimate},
        Word{"outcome", &LimitResult::outcome, verdict::outcome_names}};
};

template <> struct Members<TakenOut> {
    static constexpr std::tuple list{Word{"cause", &TakenOut::cause, void_cause_names},
                                     Member{"text", &TakenOut::text}, Member{"at", &TakenOut::at}};
};

template <> struct Members<TestedRun> {
    static constexpr std::tuple list{Member{"unit", &TestedRun::unit},
                                     Member{"channel", &TestedRun::channel},
                                     Member{"run", &TestedRun::run},
                                     Member{"file", &TestedRun::file},
                                     Member{"sha256", &TestedRun::sha256},
                                     Member{"last_seal", &TestedRun::last_seal},
                                     Member{"signed_by", &TestedRun::signed_by},
                                     Member{"started", &TestedRun::started},
                                     Member{"ended", &TestedRun::ended},
                                     Member{"boots", &TestedRun::boots},
                                     Member{"stream", &TestedRun::stream},
                                     Member{"run_number", &TestedRun::run_number},
                                     Member{"previous_seal", &TestedRun::previous_seal},
                                     Member{"simulated", &TestedRun::simulated},
                                     Member{"conditions", &TestedRun::conditions},
                                     Member{"calibrations", &TestedRun::calibrations},
                                     Member{"calibrated", &TestedRun::calibrated},
                                     Member{"whole", &TestedRun::whole},
                                     Word{"outcome", &TestedRun::outcome, verdict::outcome_names},
                                     Word{"held_back", &TestedRun::held_back, held_back_names},
                                     Member{"drops", &TestedRun::drops},
                                     Member{"misses", &TestedRun::misses},
                                     Member{"corrected_miss", &TestedRun::corrected_miss},
                                     Member{"limits", &TestedRun::limits},
                                     Member{"taken_out", &TestedRun::taken_out},
                                     Member{"reason", &TestedRun::reason}};
    static void check(const TestedRun& run); // its counts can be
};

template <> struct Members<UsedEfficiency> {
    static constexpr std::tuple list{Member{"efficiency", &UsedEfficiency::efficiency},
                                     Member{"found_by", &UsedEfficiency::found_by},
                                     Word{"rests_on", &UsedEfficiency::rests_on, rests_on_names},
                                     Member{"figures", &UsedEfficiency::figures},
                                     Member{"inputs", &UsedEfficiency::inputs}};
};

template <> struct Members<UsedCalibration> {
    static constexpr std::tuple list{Member{"id", &UsedCalibration::id},
                                     Member{"file", &UsedCalibration::file},
                                     Member{"sha256", &UsedCalibration::sha256},
                                     Member{"expires", &UsedCalibration::expires},
                                     Member{"holds_for", &UsedCalibration::holds_for},
                                     Within{&UsedCalibration::found}};
};

template <> struct Members<EarlierBatch> {
    static constexpr std::tuple list{Member{"id", &EarlierBatch::id},
                                     Member{"head", &EarlierBatch::head}};
};

template <> struct Members<DoublePlan> {
    static constexpr std::tuple list{
        Member{"n1", &DoublePlan::n1}, Member{"accept1", &DoublePlan::accept1},
        Member{"reject1", &DoublePlan::reject1}, Member{"n2", &DoublePlan::n2},
        Member{"accept2", &DoublePlan::accept2}};
};

template <> struct Members<statistics::TwoPoint> {
    static constexpr std::tuple list{
        Member{"good", &statistics::TwoPoint::good}, Member{"bad", &statistics::TwoPoint::bad},
        Member{"alpha", &statistics::TwoPoint::alpha}, Member{"beta", &statistics::TwoPoint::beta}};
};

// "miss_index at most 0.05"
[[nodiscard]] std::string text_of(const verdict::Limit& limit);

// Whether two say the same, member by member.
[[nodiscard]] nlohmann::json json_of(const TestedRun& run);
[[nodiscard]] nlohmann::json json_of(const UsedCalibration& calibration);

} // namespace dropledger::batch
