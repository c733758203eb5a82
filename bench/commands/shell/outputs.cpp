#include "bench/commands/shell/outputs.hpp"

#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <filesystem>

namespace dropledger::cli {

namespace fs = std::filesystem;

namespace {

bool same_file(const std::string& a, const std::string& b) {
    std::error_code unknown;
    if (fs::exists(a, unknown) && fs::exists(b, unknown))
        return fs::is_regular_file(a, unknown) && fs::equivalent(a, b, unknown);
    return fs::weakly_canonical(a, unknown) == fs::weakly_canonical(b, unknown);
}

} // namespace

Status keep_apart(const std::vector<std::string>& inputs, const std::vector<Output>& outputs) {
    for (std::size_t i = 0; i < outputs.size(); ++i) {
        if (!outputs[i].file)
            continue;
        for (const std::string& input : inputs)
            if (same_file(*outputs[i].file, input))
                return usage(outputs[i].option,
                             fmt::format("{} is read here and would be written over", input),
                             "name another file");
        for (std::size_t j = 0; j < i; ++j)
            if (outputs[j].file && same_file(*outputs[i].file, *outputs[j].file))
                return usage(outputs[i].option,
                             fmt::format("the same file as {}", outputs[j].option),
                             "name another file");
    }
    return Done{};
}

} // namespace dropledger::cli
