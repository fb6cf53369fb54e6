#include "anfract/phantom/phantom_file.h"

#include <unistd.h>

#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "anfract/tooth/tooth_file.h"

namespace anfract {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;

json point_json(const Vec3& p) { return json::array({p.x(), p.y(), p.z()}); }

json canal_parameters(const CanalDesign& canal) {
    json bends = json::array();
    for (const BendDesign& bend : canal.bends) {
        bends.push_back({{"at", bend.at},
                         {"angle_deg", bend.angle_deg},
                         {"toward_deg", bend.toward_deg},
                         {"length_mm", bend.length_mm}});
    }
    return {{"name", canal.name},
            {"course_mm", canal.course_mm},
            {"bends", bends},
            {"foramen_offset_mm", canal.foramen_offset_mm}};
}

json parameters_json(const Phantom& phantom) {
    const PhantomOptions& o = phantom.options;
    json canals = json::array();
    for (const CanalDesign& canal : phantom.design.canals)
        canals.push_back(canal_parameters(canal));
    return {{"voxel_mm", o.voxel_mm},
            {"psf_fwhm_mm", o.psf_fwhm_mm},
            {"noise", o.noise},
            {"noise_fwhm_mm", o.noise_fwhm_mm},
            {"tilt_max_deg", o.tilt_max_deg},
            {"bone_texture", o.bone_texture},
            {"neighbours", o.neighbours},
            {"thin_bone", o.thin_bone},
            {"grey_scale", o.grey_scale},
            {"grey_offset", o.grey_offset},
            {"field_mm", o.field_mm},
            {"movement_mm", o.movement_mm},
            {"missing_arc_deg", o.missing_arc_deg},
            {"canals", canals}};
}

// A folder that goes away with all it holds unless it has been emptied by renaming.
class TemporaryFolder {
  public:
    explicit TemporaryFolder(fs::path path) : path_(std::move(path)) {}
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;
    ~TemporaryFolder() {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    const fs::path& path() const { return path_; }

  private:
    fs::path path_;
};

tl::unexpected<Error> cannot_write(const fs::path& path, const std::error_code& error) {
    return fail(ErrorCode::Io, "cannot be written: " + error.message(), path.string(),
                "choose a folder you may write to");
}

// Moves a finished scan and truth into place; what was there goes into the temporary folder and
// with it.
Result<void> move_into_place(const fs::path& fresh, const fs::path& out) {
    std::error_code error;
    for (const char* name : {"scan", "truth.json"}) {
        if (fs::exists(out / name))
            fs::rename(out / name, fresh / (std::string("old-") + name), error);
        if (!error) fs::rename(fresh / name, out / name, error);
        if (error) return cannot_write(out / name, error);
    }
    return {};
}

Result<void> write_into(const Phantom& phantom, const fs::path& folder, const Progress& progress) {
    std::error_code error;
    fs::create_directories(folder / "scan", error);
    if (error) return cannot_write(folder, error);
    return write_dicom_series(phantom, folder / "scan", progress).and_then([&]() -> Result<void> {
        return write_document(folder / "truth.json", truth_to_json(phantom), "anfract.truth");
    });
}

}  // namespace

json truth_to_json(const Phantom& phantom) {
    json metal = {{"present", phantom.options.metal}};
    if (phantom.options.metal) {
        metal["fillings"] = json::array();
        for (const FillingDesign& filling : phantom.design.fillings) {
            const Vec3 floor(filling.centre_mm.x(), filling.centre_mm.y(), filling.floor_z_mm);
            metal["fillings"].push_back({{"floor_mm", point_json(phantom.pose.to_patient(floor))},
                                         {"half_mm", {filling.half_mm.x(), filling.half_mm.y()}}});
        }
    }
    return {{"format", "anfract.truth"},
            {"version", 1},
            {"invented", true},
            {"kind", phantom.options.kind},
            {"seed", phantom.options.seed},
            {"parameters", parameters_json(phantom)},
            {"inside_mm", point_json(phantom.inside_P)},
            {"reference_mm", point_json(phantom.reference_P)},
            {"metal", metal},
            {"tooth", tooth_to_json(phantom.truth)}};
}

Result<void> check_phantom_folder(const fs::path& out, bool force) {
    std::error_code error;
    if (fs::exists(out, error) && !fs::is_directory(out, error)) {
        return fail(ErrorCode::BadInput, "is not a folder", out.string(),
                    "name a folder for the scan");
    }
    if (force) return {};
    const bool scan = fs::exists(out / "scan", error) &&
                      !(fs::is_directory(out / "scan", error) && fs::is_empty(out / "scan", error));
    if (scan || fs::exists(out / "truth.json", error)) {
        return fail(ErrorCode::BadInput, "already holds a scan", out.string(),
                    "choose another folder, or ask for it to be replaced");
    }
    return {};
}

Result<void> write_phantom(const Phantom& phantom, const fs::path& out, bool force,
                           const Progress& progress) {
    if (const Result<void> free = check_phantom_folder(out, force); !free) return free;
    std::error_code error;
    const bool is_new = !fs::exists(out, error);
    // Beside the place where it goes, so that renaming stays within one file system.
    const fs::path place = fs::absolute(out, error).lexically_normal();
    const fs::path parent =
        place.has_filename() ? place.parent_path() : place.parent_path().parent_path();
    const TemporaryFolder fresh(parent / (".anfract-phantom-" + std::to_string(getpid())));
    if (Result<void> written = write_into(phantom, fresh.path(), progress); !written) {
        written.error().where = out.string();  // rather than the temporary place
        return written;
    }
    if (is_new) {
        fs::rename(fresh.path(), place.has_filename() ? place : place.parent_path(), error);
        return error ? Result<void>(cannot_write(out, error)) : Result<void>{};
    }
    return move_into_place(fresh.path(), out);
}

}  // namespace anfract
