DROP TABLE handovers;
DROP TABLE payments;
DROP TABLE disputes;
DROP TABLE decisions;
DROP TABLE quotes;
