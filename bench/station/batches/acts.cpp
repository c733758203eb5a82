// The commands behind what a batch's page can do, and what the issuer states in a certificate.
#include "bench/station/batches/batches.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/batch/certificate/report_facts.hpp"
#include "bench/commands/inputs/settings_text.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <array>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;
using Words = std::vector<std::string>;

namespace {

struct Stated {
    const char* name;
    const char* label;
    std::string batch::ReportFacts::*of;
};
constexpr std::array<Stated, 6> stated{
    {{"number", "Number of the certificate", &batch::ReportFacts::number},
     {"issuer", "Issuer", &batch::ReportFacts::issuer},
     {"place", "Place of the tests", &batch::ReportFacts::place},
     {"client", "Client", &batch::ReportFacts::client},
     {"product", "Product", &batch::ReportFacts::product},
     {"authorised_by", "Authorised by", &batch::ReportFacts::authorised_by}}};

std::string deviation(std::size_t number) {
    return fmt::format("deviation-{}", number);
}

std::string facts_text(const Fields& form) {
    std::string text;
    for (const Stated& one : stated)
        if (const auto value = form.filled(one.name))
            text += fmt::format("{} = {}\n", one.name, cli::toml_text(*value));
    for (std::size_t i = 1; form.value(deviation(i)); ++i)
        if (const auto value = form.filled(deviation(i)))
            text += fmt::format("[[deviation]]\ntext = {}\n", cli::toml_text(*value));
    return text;
}

// The first of NAME, NAME-2, NAME-3 … that is not there.
std::string free_name(const std::string& before, const std::string& behind) {
    std::string name = before + behind;
    for (int number = 2; std::filesystem::exists(name); ++number)
        name = fmt::format("{}-{}{}", before, number, behind);
    return name;
}

// "RUN/UNIT" as the page gives it; neither is an option.
Result<Words> void_words(const Fields& form) {
    const std::string run = form.value("run").value_or("");
    const std::size_t cut = run.find('/');
    if (cut == std::string::npos || cut == 0 || run.front() == '-')
        return usage_error("run", "none was chosen", "choose the run that the bench spoilt");
    return Words{run.substr(0, cut), "--unit=" + run.substr(cut + 1),
                 "--cause=" + form.value("cause").value_or(""),
                 "--reason=" + form.value("reason").value_or("")};
}

} // namespace

std::string report_fields(const std::string& file) {
    batch::ReportFacts facts;
    if (std::filesystem::exists(file))
        if (auto read = cli::report_facts_in(file))
            facts = *std::move(read);
    std::string fields;
    for (const Stated& one : stated)
        fields += text_field({one.name, one.label, "", facts.*one.of, false});
    facts.deviations.emplace_back();
    for (std::size_t i = 0; i < facts.deviations.size(); ++i)
        fields += text_field(
            {deviation(i + 1), "Deviation from the test plan", "", facts.deviations[i], false});
    return element("div", "class=\"row2\"", fields);
}

Result<Words> Batches::add_words(const std::string& file, const Fields& form) const {
    Words words{"batch", "add", file};
    for (const std::string& log : form.values("log")) {
        auto path = file_in(place_.folder, log, ".droplog");
        if (!path)
            return path.error();
        words.push_back(*std::move(path));
    }
    if (words.size() == 3)
        return usage_error("logs", "none was ticked", "tick those that the batch is to take in");
    for (const std::string& record : form.values("calibration")) {
        const auto path = file_in(place_.folder, record, ".toml");
        if (!path)
            return path.error();
        words.push_back("--calibration=" + *path);
    }
    if (const auto reason = form.filled("reason"))
        words.push_back("--reason=" + *reason);
    words.push_back(key_word());
    return words;
}

Result<Words> Batches::certificate_words(const std::string& file, const std::string& stem,
                                         const Fields& form) const {
    Words words{"batch",
                "certificate",
                file,
                key_word(),
                "--logs=" + place_.folder,
                "--out=" + stem + ".certificate.json",
                "--pdf=" + stem + ".pdf"};
    if (const std::string text = facts_text(form); !text.empty()) {
        const std::string facts = stem + ".report.toml";
        if (const Status written = files::write_file_aside(facts, text); !written)
            return written.error();
        words.push_back("--report=" + facts);
    }
    if (form.value("not-accepted"))
        words.emplace_back("--not-accepted");
    return words;
}

Result<Words> Batches::words_for(const std::string& act, const std::string& name,
                                 const Fields& form) const {
    const auto file = file_in(place_.folder, name, batch_ending);
    if (!file)
        return file.error();
    const std::string stem = in_folder(stem_of(name));
    if (act == "choose")
        return Words{"batch", "choose", *file, key_word(),
                     "--buyer-seed=" + form.value("buyer-seed").value_or("")};
    if (act == "add")
        return add_words(*file, form);
    if (act == "void") {
        auto words = void_words(form);
        if (words)
            words->insert(words->begin(), {"batch", "void", *file, key_word()});
        return words;
    }
    if (act == "decide")
        return Words{"batch", "decide", *file, key_word()};
    if (act == "certificate")
        return certificate_words(*file, stem, form);
    if (act == "revoke")
        return Words{"batch",
                     "revoke",
                     *file,
                     stem + ".certificate.json",
                     key_word(),
                     "--cause=" + form.value("cause").value_or(""),
                     "--reason=" + form.value("reason").value_or(""),
                     "--out=" + free_name(stem, ".revocation.json")};
    if (act == "pack")
        return Words{"batch", "pack", stem + ".pdf", "--logs=" + place_.folder,
                     "--out=" + free_name(stem + "-pack", "")};
    return usage_error("batch", fmt::format("there is no act '{}'", act), "");
}

} // namespace dropledger::station
