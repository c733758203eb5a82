#include "bench/commands/shell/page.hpp"

#include <CLI/CLI.hpp>

namespace dropledger::cli {

namespace {

std::string value_of(const CLI::Option& option) {
    if (option.get_type_size() == 0)
        return {};
    const std::string usual = option.get_default_str();
    return option.get_type_name() + (usual.empty() ? "" : "=" + usual);
}

ArgumentLine line_of(const CLI::Option& option) {
    const bool is_positional = option.get_positional();
    return {.name = option.get_name(is_positional, !is_positional),
            .value = value_of(option),
            .help = option.get_description(),
            .required = option.get_required(),
            .several = option.get_expected_max() == CLI::detail::expected_max_vector_size};
}

} // namespace

std::string ArgumentLine::long_name() const {
    const std::size_t at = name.find("--");
    return at == std::string::npos ? std::string{} : name.substr(at);
}

CommandPage help_page(const CLI::App& app, const std::string& name) {
    CommandPage page{.name = name,
                     .summary = app.get_description(),
                     .positionals = {},
                     .options = {},
                     .below = {},
                     .manual = app.get_footer()};
    for (const CLI::Option* const option : app.get_options())
        (option->get_positional() ? page.positionals : page.options).push_back(line_of(*option));
    for (const CLI::App* const one : app.get_subcommands([](const CLI::App*) { return true; }))
        page.below.push_back(help_page(*one, name + " " + one->get_name()));
    return page;
}

} // namespace dropledger::cli
