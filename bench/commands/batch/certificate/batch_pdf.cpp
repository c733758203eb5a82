#include "bench/commands/batch/certificate/batch_pdf.hpp"

#include "analysis/batch/certificate/certificate.hpp"
#include "analysis/droplog/seal.hpp"
#include "analysis/report/pdf/pages.hpp"
#include "bench/commands/batch/certificate/certificate.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

struct Options {
    std::string file;
    std::string out;
};

Result<int> print(const Options& options) {
    Outputs outputs;
    outputs.reads(options.file).writes("--out", options.out, files::FileKind::pdf);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    auto bytes = files::whole_file(options.file, most_batch_bytes);
    if (!bytes)
        return bytes.error();
    const auto found = certificate_file(*std::move(bytes), options.file);
    if (!found)
        return found.error();
    const auto certificate = batch::parse_certificate(found->json, options.file);
    if (!certificate)
        return certificate.error();
    if (!batch::is_canonical(found->json) || !batch::signature_holds(found->json))
        return input_error(options.file, "its signature does not fit its content",
                           "ask its issuer for the file as it was signed");
    if (const Status able = report::certificate::can_draw(); !able)
        return able.error();
    const std::string pages = report::certificate::pages(*certificate);
    outputs.put("--out", report::certificate::with_signed(pages, *certificate, found->json));
    outputs.note("{}: certificate {}, signed JSON inside\n", options.out, certificate->id);
    if (droplog::to_hex(droplog::sha256(pages)) != certificate->pages_sha256)
        outputs.note("note: other fonts, or another version, printed the pages whose hash was "
                     "signed: `batch verify` will say that these are not those\n");
    return outputs.deliver(0);
}

} // namespace

Result<CertificateFile> certificate_file(std::string bytes, const std::string& where) {
    if (!bytes.starts_with("%PDF-"))
        return CertificateFile{std::move(bytes), std::nullopt};
    auto found = report::certificate::taken_apart(bytes);
    if (!found)
        return input_error(
            where, "no certificate is attached to this PDF, or it was changed since it was made",
            "ask its issuer for the signed JSON");
    return CertificateFile{std::move(found->json), droplog::to_hex(droplog::sha256(found->pages))};
}

void add_batch_print(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("print", "a signed certificate as a PDF for people")
        .option("CERT", options->file, "the signed certificate")
        .required("CERT")
        .option("--out", options->out, "the PDF to be written")
        .required("--out")
        .manual("batch_print")
        .runs([options] { return print(*options); });
}

} // namespace dropledger::cli
