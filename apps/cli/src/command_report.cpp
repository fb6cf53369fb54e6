#include <memory>

#include "anfract/base/file.h"
#include "anfract/plan/plan_file.h"
#include "anfract/report/letter.h"
#include "anfract/report/ruler.h"
#include "anfract/scan/read_scan.h"
#include "command.h"
#include "give_out.h"

namespace anfract::cli {
namespace {

struct Options {
    std::string plan, scan, letter, ruler, out;
    KeepOptions keep;
};

/// The part of a scan that holds the tooth, with some room; BadInput when they do not belong
/// together.
Result<Brick> read_brick(const Tooth& tooth, const Options& options, const Progress& progress) {
    const auto volume = read_scan(options.scan, {}, progress);
    if (!volume) return tl::unexpected(volume.error());
    const bool known = tooth.scan && !tooth.scan->series_uid.empty() && !volume->series_uid.empty();
    if (known && tooth.scan->series_uid != volume->series_uid) {
        return fail(ErrorCode::BadInput, "this is not the scan the tooth was traced in",
                    options.scan, "give that scan, or leave --scan out");
    }
    Brick brick = brick_round(*volume, tooth);
    if (brick.grey.empty()) {
        return fail(ErrorCode::BadInput, "the tooth lies outside this scan", options.scan,
                    "give the scan the tooth was traced in, or leave --scan out");
    }
    return brick;
}

Result<void> report_plan(const Options& options, Progress& progress) {
    const auto plan = read_plan(options.plan);
    if (!plan) return tl::unexpected(plan.error());
    const auto letter =
        letter_to_keep(options.keep, options.letter, plan->invented, "letter", "en");
    if (!letter) return tl::unexpected(letter.error());
    Brick brick;
    if (!options.scan.empty()) {
        auto cut = read_brick(plan->tooth, options, progress);
        if (!cut) return tl::unexpected(cut.error());
        brick = std::move(*cut);
    }
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
    const Brick* const grey = brick.grey.empty() ? nullptr : &brick;
    const bool html = options.out.ends_with(".html");
    auto pdf = html ? letter_html(*plan, *letter, grey) : letter_pdf(*plan, *letter, grey);
    if (!pdf) {
        Error error = pdf.error();
        error.where = options.plan;
        return tl::unexpected(error);
    }
    if (auto given = give_out(options.keep, "letter", *letter, *pdf, options.out); !given)
        return given;
    if (options.ruler.empty()) return {};
    const auto ruler = ruler_svg(*plan);
    if (!ruler) return tl::unexpected(ruler.error());
    return write_file_atomically(options.ruler, *ruler);
}

}  // namespace

void add_report_command(CLI::App& app, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command =
        app.add_subcommand("report", "A plan as a letter with its figures, as PDF or HTML");
    command->add_option("plan", options->plan, "anfract.plan file")->required();
    command->add_option("--scan", options->scan,
                        "the scan the tooth was traced in, for the sections; without it they are "
                        "drawn from the tooth's model");
    command->add_option("--letter", options->letter,
                        "anfract.letter file: practice, recipient, patient, date");
    command->add_option("--ruler", options->ruler, "also write the depth ruler alone, as SVG");
    command->add_option("--out", options->out, "file to write: PDF, or HTML when it ends in .html")
        ->required();
    add_keep_options(*command, options->keep);
    command->callback([options, &action] {
        action = [options](Progress& progress) { return report_plan(*options, progress); };
    });
}

}  // namespace anfract::cli
