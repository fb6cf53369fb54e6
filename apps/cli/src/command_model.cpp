#include <iostream>
#include <map>
#include <memory>

#include "anfract/base/file.h"
#include "anfract/exchange/practice_model.h"
#include "anfract/exchange/print_file.h"
#include "anfract/tooth/tooth_file.h"
#include "command.h"

namespace anfract::cli {
namespace {

struct Options {
    std::string tooth, out;
    ModelOptions model;
    bool closed = false;
};

std::string note_of(const Tooth& tooth, const PracticeModel& model, double scale) {
    std::string note = "For practice and teaching only: not a copy to treat by.";
    if (tooth.invented) note += " The tooth is invented.";
    char facts[200];
    std::snprintf(facts, sizeof facts,
                  " Scale %g. Narrowest hollow %.2f mm, canal %s at %.1f mm of the tooth's depth.",
                  scale, model.narrowest_mm, model.narrowest_canal.c_str(),
                  model.narrowest_depth_mm);
    return note + facts;
}

Result<void> run(const Options& options, const Progress& progress) {
    const auto format = print_format_of(options.out);
    if (!format) return tl::unexpected(format.error());
    const auto tooth = read_tooth(options.tooth);
    if (!tooth) return tl::unexpected(tooth.error());
    ModelOptions wanted = options.model;
    wanted.opened = !options.closed;
    const auto model = practice_model(*tooth, wanted, progress);
    if (!model) {
        Error error = model.error();
        error.where = options.tooth + (error.where.empty() ? "" : ", " + error.where);
        return tl::unexpected(error);
    }
    const std::string title =
        tooth->fdi.empty() ? "Practice tooth" : "Practice tooth " + tooth->fdi;
    const std::string note = note_of(*tooth, *model, wanted.scale);
    const auto bytes = print_file(model->surface, *format, title, note);
    if (!bytes) return tl::unexpected(bytes.error());
    if (auto written = write_file_atomically(options.out, *bytes); !written) return written;
    std::cerr << note << '\n';
    return {};
}

}  // namespace

void add_model_command(CLI::App& app, Action& action) {
    const auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand(
        "model", "A traced tooth as a solid with hollow canals, to print and practise on");
    command->add_option("TOOTH", options->tooth, "anfract.tooth file")->required();
    command->add_option("--body", options->model.body, "tooth: its own outer surface; block: a box")
        ->transform(CLI::CheckedTransformer(std::map<std::string, ModelBody>{
            {"tooth", ModelBody::Tooth}, {"block", ModelBody::Block}}));
    command->add_option("--scale", options->model.scale,
                        "size over life size; narrow canals often print only when larger");
    command->add_option("--grid", options->model.grid_mm,
                        "fineness in mm of the tooth (default: a fifth of the narrowest canal)");
    command->add_flag("--closed", options->closed, "without the opening from the crown");
    command->add_option("--out", options->out, "file to write, .3mf or .stl")->required();
    command->callback([options, &action] {
        action = [options](Progress& progress) { return run(*options, progress); };
    });
}

}  // namespace anfract::cli
