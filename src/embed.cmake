# A text file as a constant array of C: -DNAME=array -DHEADER=header that declares it -DSOURCE=file -DOUT=file.c
file(READ ${SOURCE} bytes HEX)
string(REGEX REPLACE "(................................)" "\\1\n" bytes "${bytes}")
string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${bytes}")
file(WRITE ${OUT} "#include \"${HEADER}\"\n\nconst char ${NAME}[] = {\n${bytes}0};\n")
