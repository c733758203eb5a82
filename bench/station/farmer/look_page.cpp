// What a dropped table holds: its first rows, what its columns mean, and what comes of that.
#include "bench/station/farmer/farmer.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/station/farmer/column_form.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <filesystem>

namespace dropledger::station {

using report::pictures::element;

namespace {

constexpr std::size_t most_mapping_bytes = std::size_t{1} << 20U;

std::optional<field::Mapping> mapping_in(const std::string& file) {
    const auto text = std::filesystem::exists(file) ? files::whole_file(file, most_mapping_bytes)
                                                    : Result<std::string>{std::string{}};
    if (!text || text->empty())
        return std::nullopt;
    const auto mapping = field::parse_mapping(*text, file);
    return mapping ? std::optional(*mapping) : std::nullopt;
}

// The tables' first rows; the separator is the first one's, as it is said.
Result<std::vector<TableLook>> looks_at(const std::vector<std::string>& tables,
                                        const Choices& choices) {
    std::vector<TableLook> looks;
    for (const std::string& table : tables) {
        auto look = look_at(table, choices.separator());
        if (!look)
            return look.error();
        if (look->columns.empty())
            return input_error(std::filesystem::path(table).filename().string(),
                               "the table is empty", "drop another one");
        looks.push_back(*std::move(look));
    }
    return looks;
}

struct Proposed {
    Choices choices;
    const char* origin;
};

// What was said of this table, else of another one with such columns, else a guess.
Proposed proposed(const TableLook& look, const std::string& own, const std::string& last) {
    for (const auto& [file, origin] :
         {std::pair{own, "As it was said of this table before."},
          std::pair{last, "As it was said of a table with these columns before. Look whether it "
                          "holds for this one."}})
        if (const auto mapping = mapping_in(file))
            if (auto choices = Choices::remembered(*mapping, look))
                return {*std::move(choices), origin};
    return {Choices::guessed(look),
            "Guessed from the names and the first rows. Look whether it holds."};
}

std::string listed(const std::vector<TableLook>& looks) {
    std::string names;
    for (const TableLook& look : looks)
        names += (names.empty() ? "" : ", ") + look.file;
    return names;
}

// A date that goes one way only holds against the other way, whatever was said.
Status can_be_read(const TableLook& look, const Choices& choices) {
    const auto reading = read_as(look, choices);
    if (!reading)
        return reading.error();
    const field::DateOrder shown = reading->clock.facts.dates_show;
    const std::string order = choices.of(choice::date_order);
    if (shown != field::DateOrder::unknown && !order.empty() &&
        (shown == field::DateOrder::day_first) != (order == "day"))
        return input_error(
            look.file,
            fmt::format("some of its dates have the {} first", order == "day" ? "month" : "day"),
            "choose that for all of them");
    return Done{};
}

std::string columns_form(const std::vector<TableLook>& looks, const Choices& choices,
                         const std::vector<std::string>& tables) {
    std::string hidden;
    for (const std::string& table : tables)
        hidden += hidden_field("table", table);
    const std::string acts =
        element("button", "type=\"submit\" class=\"go\"",
                "That is what they mean: judge the night") +
        element("button",
                "type=\"submit\" formaction=\"/field/look\" formnovalidate=\"formnovalidate\"",
                "Show what comes of it");
    return element(
        "form",
        "class=\"fill\" method=\"post\" action=\"/field/mapping\" data-again=\"/field/look\"",
        hidden + element("div", "id=\"columns\"", column_fields(looks.front(), choices)) +
            what_comes_of_it(looks, choices) + element("div", "class=\"acts\"", acts));
}

} // namespace

Response Farmer::look_page(const Request& request, const std::string& trouble) const {
    const bool is_first = request.method == Method::get;
    const Fields& asked = is_first ? request.query : request.form;
    const auto tables = tables_of(asked);
    if (!tables)
        return first_page(said_wrong(tables.error()));
    if (is_of_logs(asked))
        return see("/field/result" + tables_again(asked));
    const Choices said = is_first ? Choices{} : Choices::of_form(asked);
    const auto looks = looks_at(*tables, said);
    if (!looks)
        return first_page(said_wrong(looks.error()));
    const Proposed all = is_first
                             ? proposed(looks->front(), mapping_of(tables->front()), mapping_file())
                             : Proposed{said, "As you say it below."};
    std::string text = heading1("What do the columns mean?") + trouble +
                       text_line(listed(*looks) + ". " + all.origin, "lead") +
                       rows_as_they_stand(looks->front()) +
                       columns_form(*looks, all.choices, asked.values("table"));
    return shown("Columns", text, {"drop.js", "columns.js"});
}

Response Farmer::take_mapping(const Request& request) const {
    const auto tables = tables_of(request.form);
    if (!tables || is_of_logs(request.form))
        return first_page(
            said_wrong(tables ? usage_error("table", "logs have no columns", "") : tables.error()));
    const Choices choices = Choices::of_form(request.form);
    const auto looks = looks_at(*tables, choices);
    if (!looks)
        return first_page(said_wrong(looks.error()));
    if (const auto lacking = choices.lacking(looks->front()); !lacking.empty())
        return look_page(request, said_wrong(input_error("not said yet", names_of(lacking),
                                                         "the table cannot tell; say it below")));
    for (const TableLook& look : *looks)
        if (const Status read = can_be_read(look, choices); !read)
            return look_page(request, said_wrong(read.error()));
    const std::string text = choices.text(looks->front());
    std::vector<std::string> kept{mapping_file()};
    for (const std::string& table : *tables)
        kept.push_back(mapping_of(table));
    for (const std::string& file : kept)
        if (const Status written = files::write_file_aside(file, text); !written)
            return look_page(request, said_wrong(written.error()));
    return see("/field/result" + tables_again(request.form));
}

} // namespace dropledger::station
