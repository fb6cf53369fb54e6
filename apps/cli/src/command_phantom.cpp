#include <cstdio>
#include <memory>

#include "anfract/phantom/phantom.h"
#include "anfract/phantom/phantom_file.h"
#include "command.h"

namespace anfract::cli {

namespace {

struct Options {
    PhantomOptions phantom;
    std::string out;
    std::string fdi;
    bool list = false;
    bool no_noise = false;
    bool force = false;
};

Result<void> list_kinds() {
    for (const PhantomKind& kind : phantom_kinds()) {
        std::printf("%-16s tooth %s: %s\n", kind.name.c_str(), kind.fdi.c_str(),
                    kind.description.c_str());
    }
    std::printf(
        "%-16s --fdi NN or any: drawn from published distributions of the permanent teeth\n",
        "random");
    std::printf("%-16s tooth 25: the canal system of that type, system-I to system-VIII\n",
                "system-TYPE");
    return {};
}

Result<void> make(const Options& options, Progress& progress) {
    if (options.list) return list_kinds();
    // Before the work, so that a slip is told at once.
    if (const Result<void> free = check_phantom_folder(options.out, options.force); !free)
        return free;
    const Result<Phantom> phantom = make_phantom(options.phantom, progress);
    if (!phantom) return tl::unexpected(phantom.error());
    return write_phantom(*phantom, options.out, options.force, progress);
}

}  // namespace

void add_phantom_command(CLI::App& app, Action& action) {
    auto options = std::make_shared<Options>();
    PhantomOptions& phantom = options->phantom;
    CLI::App* command = app.add_subcommand(
        "phantom",
        "Make an invented scan (DICOM series in DIR/scan) and what is true of it (DIR/truth.json)");
    CLI::Option* kind =
        command->add_option("KIND", phantom.kind, "which tooth; --list names the kinds");
    CLI::Option* out = command->add_option("--out", options->out, "folder to write to");
    CLI::Option* list =
        command->add_flag("--list", options->list, "name the kinds of teeth and stop");
    command->add_option("--fdi", options->fdi,
                        "which tooth a random one is, ISO 3950 (default: drawn as well)");
    command->add_option("--seed", phantom.seed, "another seed, another tooth of the kind")
        ->capture_default_str();
    command->add_option("--voxel", phantom.voxel_mm, "voxel size in mm")->capture_default_str();
    command->add_option("--psf", phantom.psf_fwhm_mm, "width of the point spread (FWHM) in mm")
        ->capture_default_str();
    command->add_option("--noise", phantom.noise, "standard deviation of the noise in grey values")
        ->capture_default_str();
    command->add_flag("--no-noise", options->no_noise, "the same as --noise 0");
    command
        ->add_option("--tilt", phantom.tilt_max_deg, "the tooth leans by up to this many degrees")
        ->capture_default_str();
    command->add_flag("--metal", phantom.metal, "with a metal filling and its streaks");
    command->add_flag("--neighbours", phantom.neighbours, "with a tooth on either side");
    command->add_flag("--thin-bone", phantom.thin_bone,
                      "with hardly any bone over the root, buccally");
    command
        ->add_option("--grey-scale", phantom.grey_scale,
                     "the scanner's grey values are scale * grey + offset")
        ->capture_default_str();
    command->add_option("--grey-offset", phantom.grey_offset, "see --grey-scale")
        ->capture_default_str();
    command->add_option("--field", phantom.field_mm,
                        "field of view in mm, a cube that may cut the tooth; 0 for all of it");
    command->add_option("--movement", phantom.movement_mm,
                        "the head moved by this many mm during the scan");
    command->add_option("--missing-arc", phantom.missing_arc_deg,
                        "degrees of the half turn that were not seen: streaks");
    command->add_flag("--force", options->force, "replace a scan that is already there");
    command->callback([options, kind, out, list, &action] {
        if (!*list && !*kind) throw CLI::RequiredError("KIND");
        if (!*list && !*out) throw CLI::RequiredError("--out");
        if (options->no_noise) options->phantom.noise = 0;
        if (!options->fdi.empty()) {
            if (options->phantom.kind != "random")
                throw CLI::ValidationError("--fdi", "goes with the kind random only");
            options->phantom.kind += "-" + options->fdi;
        }
        action = [options](Progress& progress) { return make(*options, progress); };
    });
}

}  // namespace anfract::cli
