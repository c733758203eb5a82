#include "bench/book/run_entry.hpp"

#include "analysis/base/version.hpp"
#include "analysis/report/words/quantities.hpp"

#include <algorithm>

namespace dropledger::book {

namespace {

std::string setting(const audit::AuditReport& audit, std::string_view key) {
    const std::string* const text = audit.header.find(key);
    return text == nullptr ? std::string{} : *text;
}

std::vector<Quantity> quantities_of(const audit::ChannelReport& channel) {
    std::vector<Quantity> all;
    for (const report::QuantityGroup& group : report::quantity_groups(channel))
        for (const report::ReportedQuantity& row : group.rows) {
            if (!row.estimate)
                continue;
            Quantity one{group.key, row.key, row.estimate->value, {}, {}};
            if (row.estimate->interval) {
                one.low = row.estimate->interval->low;
                one.high = row.estimate->interval->high;
            }
            all.push_back(std::move(one));
        }
    return all;
}

std::string reason_of(const verdict::Judgement& judgement) {
    std::string reason = judgement.reason;
    for (const verdict::Criterion& criterion : judgement.criteria)
        if (criterion.outcome != verdict::Outcome::within)
            reason += (reason.empty() ? "" : "; ") +
                      std::string(words_of(criterion.limit.quantity)) + ": " +
                      std::string(verdict::name_of(criterion.outcome));
    return reason;
}

Verdict verdict_of(const audit::ChannelReport& channel) {
    Verdict out;
    out.channel = channel.channel;
    out.unit = channel.unit;
    out.row = channel.row;
    out.gate = channel.gate;
    out.outcome = channel.judgement.outcome;
    out.reason = reason_of(channel.judgement);
    if (const audit::CommandedDrops* const drops = channel.drops())
        out.drops = drops->table.drops;
    out.quantities = quantities_of(channel);
    return out;
}

} // namespace

Run run_entry(const audit::AuditReport& audit) {
    Run run;
    run.run_id = audit.run_id;
    run.started = audit.started;
    run.bench = setting(audit, "bench");
    run.person = setting(audit, "operator");
    run.crop = setting(audit, "crop");
    run.seed_lot = setting(audit, "seed_lot");
    run.thousand_seed_mass_mg = audit.header.number("thousand_seed_mass_mg");
    run.mode = audit.setup.mode;
    if (audit.setup.speed_um_s)
        run.speed_mps = static_cast<double>(*audit.setup.speed_um_s) * 1e-6;
    run.profile = audit.profile.name;
    run.calibration = audit.calibration.value_or("");
    run.judged_by = version();
    run.complete = audit.integrity.complete();
    run.seals_intact = audit.integrity.seals.intact;
    run.is_signed = audit.integrity.is_signed;
    run.outcome = audit.outcome;
    for (const audit::ChannelReport& channel : audit.channels)
        run.verdicts.push_back(verdict_of(channel));
    return run;
}

} // namespace dropledger::book
