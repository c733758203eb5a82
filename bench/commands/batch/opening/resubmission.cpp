#include "bench/commands/batch/opening/resubmission.hpp"

#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

namespace dropledger::cli {

namespace fs = std::filesystem;

namespace {

constexpr std::string_view ending = ".batch.json";

std::string common_unit(const batch::Batch& earlier, const std::set<std::string>& serials) {
    const auto found =
        std::find_if(earlier.serials.begin(), earlier.serials.end(),
                     [&](const std::string& serial) { return serials.count(serial) > 0; });
    return found == earlier.serials.end() ? "" : *found;
}

std::vector<std::string> batches_beside(const std::string& file) {
    const fs::path folder = fs::absolute(file).parent_path();
    std::vector<std::string> found;
    std::error_code ignored;
    for (const auto& one : fs::directory_iterator(folder, ignored))
        if (one.path().filename().string().ends_with(ending))
            found.push_back(one.path().string());
    std::sort(found.begin(), found.end());
    return found;
}

std::string came_to(const batch::Batch& earlier) {
    return earlier.decision ? std::string{word_of(earlier.decision->outcome)} : "not decided";
}

} // namespace

Result<std::optional<batch::EarlierBatch>> resubmission(const std::string& file,
                                                        const std::optional<std::string>& named,
                                                        const std::vector<std::string>& serials) {
    const std::set<std::string> units(serials.begin(), serials.end());
    if (named) {
        const auto earlier = load_batch(*named);
        if (!earlier)
            return earlier.error();
        if (common_unit(*earlier, units).empty())
            return usage("--resubmits", fmt::format("{} has none of these units", *named),
                         "leave it out");
        return std::optional{batch::EarlierBatch{earlier->id, earlier->journal.head()}};
    }
    for (const std::string& other : batches_beside(file)) {
        const auto earlier = load_batch(other);
        if (!earlier)
            continue; // of another version, or no batch: nothing can be said of it
        if (const std::string unit = common_unit(*earlier, units); !unit.empty())
            return usage("--serials",
                         fmt::format("unit {} stands in batch {} ({}, {}) already", unit,
                                     earlier->id, other, came_to(*earlier)),
                         "name that batch with --resubmits: the certificate will say so");
    }
    return std::optional<batch::EarlierBatch>{};
}

} // namespace dropledger::cli
