#include "anfract/exchange/print_file.h"

#include <Model/COM/NMR_DLLInterfaces.h>

#include <algorithm>
#include <cctype>
#include <memory>
#include <vector>

namespace anfract {
namespace {

using namespace NMR;

/// Lets go of what the library made.
struct Release {
    void operator()(PLib3MFBase* object) const { lib3mf_release(object); }
};
template <class T>
using Owned = std::unique_ptr<T, Release>;

/// The library writes to a callback at a position it moves.
struct Sink {
    std::string bytes;
    std::size_t at = 0;

    static DWORD write(const BYTE* data, DWORD count, void* self) {
        Sink& sink = *static_cast<Sink*>(self);
        if (sink.bytes.size() < sink.at + count) sink.bytes.resize(sink.at + count);
        std::copy_n(data, count, sink.bytes.begin() + static_cast<std::ptrdiff_t>(sink.at));
        sink.at += count;
        return 0;
    }
    static DWORD seek(ULONG64 place, void* self) {
        static_cast<Sink*>(self)->at = place;
        return 0;
    }
};

/// The library escapes names but not metadata.
std::string escaped(const std::string& text) {
    std::string result;
    for (const char c : text) {
        switch (c) {
            case '&':
                result += "&amp;";
                break;
            case '<':
                result += "&lt;";
                break;
            case '>':
                result += "&gt;";
                break;
            default:
                result += c;
        }
    }
    return result;
}

bool add_metadata(PLib3MFModel* model, const char* key, const std::string& text) {
    return lib3mf_model_addmetadatautf8(model, key, escaped(text).c_str()) == LIB3MF_OK;
}

bool fill(PLib3MFModelMeshObject* mesh, const Surface& surface) {
    std::vector<MODELMESHVERTEX> vertices;
    vertices.reserve(surface.vertices_P.size());
    for (const Vec3& p : surface.vertices_P) {
        vertices.push_back(
            {{static_cast<float>(p.x()), static_cast<float>(p.y()), static_cast<float>(p.z())}});
    }
    std::vector<MODELMESHTRIANGLE> triangles;
    triangles.reserve(surface.triangles.size());
    for (const auto& [a, b, c] : surface.triangles) {
        triangles.push_back(
            {{static_cast<DWORD>(a), static_cast<DWORD>(b), static_cast<DWORD>(c)}});
    }
    return lib3mf_meshobject_setgeometry(mesh, vertices.data(), static_cast<DWORD>(vertices.size()),
                                         triangles.data(),
                                         static_cast<DWORD>(triangles.size())) == LIB3MF_OK;
}

}  // namespace

Result<PrintFormat> print_format_of(const std::filesystem::path& path) {
    std::string ending = path.extension().string();
    for (char& c : ending) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    if (ending == ".stl") return PrintFormat::Stl;
    if (ending == ".3mf") return PrintFormat::ThreeMf;
    return fail(ErrorCode::BadInput, "the file's name does not say which format", path.string(),
                "end it in .stl or .3mf");
}

Result<std::string> print_file(const Surface& surface, PrintFormat format, const std::string& title,
                               const std::string& note) {
    const auto refused = [] {
        return fail(ErrorCode::Io, "the solid could not be written", "", "please report this");
    };
    PLib3MFModel* raw_model = nullptr;
    if (lib3mf_createmodel(&raw_model) != LIB3MF_OK) return refused();
    const Owned<PLib3MFModel> model(raw_model);
    bool done = lib3mf_model_setunit(model.get(), MODELUNIT_MILLIMETER) == LIB3MF_OK &&
                add_metadata(model.get(), "Title", title) &&
                add_metadata(model.get(), "Description", note);

    PLib3MFModelMeshObject* raw_mesh = nullptr;
    done = done && lib3mf_model_addmeshobject(model.get(), &raw_mesh) == LIB3MF_OK;
    const Owned<PLib3MFModelMeshObject> mesh(raw_mesh);
    done = done && fill(mesh.get(), surface) &&
           lib3mf_object_setnameutf8(mesh.get(), title.c_str()) == LIB3MF_OK;

    PLib3MFModelBuildItem* raw_item = nullptr;
    done =
        done && lib3mf_model_addbuilditem(model.get(), mesh.get(), nullptr, &raw_item) == LIB3MF_OK;
    const Owned<PLib3MFModelBuildItem> item(raw_item);

    PLib3MFModelWriter* raw_writer = nullptr;
    done = done && lib3mf_model_querywriter(model.get(), format == PrintFormat::Stl ? "stl" : "3mf",
                                            &raw_writer) == LIB3MF_OK;
    const Owned<PLib3MFModelWriter> writer(raw_writer);
    Sink sink;
    done = done &&
           lib3mf_writer_writetocallback(writer.get(), reinterpret_cast<void*>(&Sink::write),
                                         reinterpret_cast<void*>(&Sink::seek), &sink) == LIB3MF_OK;
    if (!done) return refused();
    return std::move(sink.bytes);
}

}  // namespace anfract
