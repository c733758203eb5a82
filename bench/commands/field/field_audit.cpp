#include "bench/commands/field/field_audit.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

namespace {

std::string names_of(const std::vector<std::string>& files) {
    return files.size() == 1 ? files.front()
                             : fmt::format("{} and {} more files", files.front(), files.size() - 1);
}

} // namespace

Result<field::FieldAudit> audit_of(const FieldJob& options) {
    field::FieldOptions how;
    if (const Status taken = take_decision(options.decision, how); !taken)
        return taken.error();
    auto read = read_input(options.input);
    if (!read)
        return read.error();
    auto efficiencies = gate_efficiencies(options.efficiency, *read);
    if (!efficiencies)
        return efficiencies.error();
    auto findings = findings_of(options.input, *read);
    if (!findings)
        return findings.error();
    how.file = names_of(options.input.files);
    how.gate_efficiencies = *std::move(efficiencies);
    how.findings = *std::move(findings);
    return field::audit_field(*std::move(read), std::move(how));
}

} // namespace dropledger::cli
