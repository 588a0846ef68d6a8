# Writes OUT: a header with the hash of all SOURCES and of the words BUILD, for images of packs (model/image.h).
set(all "${BUILD}")
foreach(source IN LISTS SOURCES)
    get_filename_component(name ${source} NAME)
    file(SHA256 ${source} hash)
    string(APPEND all " ${name} ${hash}")
endforeach()
string(SHA256 stamp "${all}")
file(WRITE ${OUT} "#define CW_PACK_STAMP \"${stamp}\"\n")
